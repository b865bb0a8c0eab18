//! Against the test vectors of *Web Authentication, level 3* (W3C, section 16, "Test Vectors": 16.2 "ES256 Credential with No
//! Attestation", 16.3 "ES256 Credential with Self Attestation", 16.4 "ES256 Credential with "crossOrigin": true"), as other programs'
//! tests repeat them. For EdDSA and RS256 no vector was at hand: keys are made here with the same library that verifies.

use aws_lc_rs::{
    rand::SystemRandom,
    rsa::KeySize,
    signature::{Ed25519KeyPair, KeyPair as _, RSA_PKCS1_SHA256, RsaKeyPair},
};

use super::*;
use crate::platform::hex;

fn bytes(text: &str) -> Vec<u8> {
    hex::bytes(text).unwrap()
}

fn party() -> RelyingParty {
    RelyingParty::read("https://example.org").unwrap()
}

const NONE_CHALLENGE: &str = "00c30fb78531c464d2b6771dab8d7b603c01162f2fa486bea70f283ae556e130";
const NONE_MADE: &str = "7b2274797065223a22776562617574686e2e637265617465222c226368616c6c656e6765223a22414d4d507434557878475453746e63647134313759447742466938767049612d7077386f4f755657345441222c226f726967696e223a2268747470733a2f2f6578616d706c652e6f7267222c2263726f73734f726967696e223a66616c73652c22657874726144617461223a22636c69656e74446174614a534f4e206d617920626520657874656e6465642077697468206164646974696f6e616c206669656c647320696e20746865206675747572652c207375636820617320746869733a20426b5165446a646354427258426941774a744c453551227d";
const NONE_OBJECT: &str = "a363666d74646e6f6e656761747453746d74a068617574684461746158a4bfabc37432958b063360d3ad6461c9c4735ae7f8edd46592a5e0f01452b2e4b559000000008446ccb9ab1db374750b2367ff6f3a1f0020f91f391db4c9b2fde0ea70189cba3fb63f579ba6122b33ad94ff3ec330084be4a5010203262001215820afefa16f97ca9b2d23eb86ccb64098d20db90856062eb249c33a9b672f26df61225820930a56b87a2fca66334b03458abf879717c12cc68ed73290af2e2664796b9220";
const NONE_CREDENTIAL: &str = "f91f391db4c9b2fde0ea70189cba3fb63f579ba6122b33ad94ff3ec330084be4";
const NONE_KEY: &str = "a5010203262001215820afefa16f97ca9b2d23eb86ccb64098d20db90856062eb249c33a9b672f26df61225820930a56b87a2fca66334b03458abf879717c12cc68ed73290af2e2664796b9220";
const GET_CHALLENGE: &str = "39c0e7521417ba54d43e8dc95174f423dee9bf3cd804ff6d65c857c9abf4d408";
const GET_COLLECTED: &str = "7b2274797065223a22776562617574686e2e676574222c226368616c6c656e6765223a224f63446e55685158756c5455506f334a5558543049393770767a7a59425039745a63685879617630314167222c226f726967696e223a2268747470733a2f2f6578616d706c652e6f7267222c2263726f73734f726967696e223a66616c73657d";
const GET_SAID: &str = "bfabc37432958b063360d3ad6461c9c4735ae7f8edd46592a5e0f01452b2e4b51900000000";
const GET_SIGNATURE: &str =
    "3046022100f50a4e2e4409249c4a853ba361282f09841df4dd4547a13a87780218deffcd380221008480ac0f0b93538174f575bf11a1dd5d78c6e486013f937295ea13653e331e87";

const SELF_MADE: &str = "7b2274797065223a22776562617574686e2e637265617465222c226368616c6c656e6765223a2265476e4374334c55745936366b336a506a796e6962506b31716e666644616966715a774c33417032392d55222c226f726967696e223a2268747470733a2f2f6578616d706c652e6f7267222c2263726f73734f726967696e223a66616c73652c22657874726144617461223a22636c69656e74446174614a534f4e206d617920626520657874656e6465642077697468206164646974696f6e616c206669656c647320696e20746865206675747572652c207375636820617320746869733a205539685458764b453255526b4d6e625f3078594856673d3d227d";
const SELF_OBJECT: &str = "a363666d74667061636b65646761747453746d74a263616c67266373696758483046022100ae045923ded832b844cae4d5fc864277c0dc114ad713e271af0f0d371bd3ac540221009077a088ed51a673951ad3ba2673d5029bab65b64f4ea67b234321f86fcfac5d68617574684461746158a4bfabc37432958b063360d3ad6461c9c4735ae7f8edd46592a5e0f01452b2e4b55d00000000df850e09db6afbdfab51697791506cfc0020455ef34e2043a87db3d4afeb39bbcb6cc32df9347c789a865ecdca129cbef58ca5010203262001215820eb151c8176b225cc651559fecf07af450fd85802046656b34c18f6cf193843c5225820927b8aa427a2be1b8834d233a2d34f61f13bfd44119c325d5896e183fee484f2";
const SELF_CREDENTIAL: &str = "455ef34e2043a87db3d4afeb39bbcb6cc32df9347c789a865ecdca129cbef58c";

const CROSS_CHALLENGE: &str = "876aa517ba83fdee65fcffdbca4c84eeae5d54f8041a1fc85c991e5bbb273137";
const CROSS_KEY: &str = "a501020326200121582022200a473f90b11078851550d03b4e44a2279f8c4eca27b3153dedfe03e4e97d225820cbd0be95e746ad6f5a8191be11756e4c0420e72f65b466d39bc56b8b123a9c6e";
const CROSS_SAID: &str = "bfabc37432958b063360d3ad6461c9c4735ae7f8edd46592a5e0f01452b2e4b50500000000";
const CROSS_COLLECTED: &str = "7b2274797065223a22776562617574686e2e676574222c226368616c6c656e6765223a226832716c463771445f65356c5f505f62796b7945377135645650674547685f49584a6b655737736e4d5463222c226f726967696e223a2268747470733a2f2f6578616d706c652e6f7267222c2263726f73734f726967696e223a747275652c22657874726144617461223a22636c69656e74446174614a534f4e206d617920626520657874656e6465642077697468206164646974696f6e616c206669656c647320696e20746865206675747572652c207375636820617320746869733a2039327063545644304162792d713464746d6a36656667227d";
const CROSS_SIGNATURE: &str =
    "3046022100eb12fcf23b12764c0f122e22371fab92e283879fd798f38ee1841c951b6e40e7022100c76237ff9db77b3c56f30837cda6a09acfa2e915544e609c0733b1184036d1cf";

#[test]
fn the_credential_of_the_standard_is_taken_with_its_signature() {
    let (party, challenge) = (party(), bytes(NONE_CHALLENGE));
    let asked = Ceremony {
        party: &party,
        challenge: &challenge,
        verified: false,
    };
    let made = asked.made(&bytes(NONE_MADE), &bytes(NONE_OBJECT)).unwrap();
    assert_eq!((made.credential, made.key, made.counter), (bytes(NONE_CREDENTIAL), bytes(NONE_KEY), 0));
    // Nobody was looked at there, so where that is asked for it is not enough.
    let looked = Ceremony { verified: true, ..asked };
    assert!(looked.made(&bytes(NONE_MADE), &bytes(NONE_OBJECT)).is_err());
    let challenge = bytes(GET_CHALLENGE);
    let asked = Ceremony {
        challenge: &challenge,
        ..asked
    };
    let (collected, said, signature) = (bytes(GET_COLLECTED), bytes(GET_SAID), bytes(GET_SIGNATURE));
    assert_eq!(asked.signed(&bytes(NONE_KEY), &collected, &said, &signature), Ok(0));
    let looked = Ceremony { verified: true, ..asked };
    assert_eq!(
        looked.signed(&bytes(NONE_KEY), &collected, &said, &signature),
        Err(Untrue("the authenticator did not look who it is"))
    );
}

#[test]
fn an_attestation_that_nobody_asked_for_is_passed_over() {
    let (party, collected) = (party(), bytes(SELF_MADE));
    let given: ClientData = serde_json::from_slice(&collected).unwrap();
    let challenge = URL_SAFE_NO_PAD.decode(given.challenge).unwrap();
    let asked = Ceremony {
        party: &party,
        challenge: &challenge,
        verified: true,
    };
    assert_eq!(asked.made(&collected, &bytes(SELF_OBJECT)).unwrap().credential, bytes(SELF_CREDENTIAL));
}

#[test]
fn a_page_within_anothers_is_refused_though_its_signature_is_right() {
    let (party, challenge) = (party(), bytes(CROSS_CHALLENGE));
    let asked = Ceremony {
        party: &party,
        challenge: &challenge,
        verified: true,
    };
    let told = asked.signed(&bytes(CROSS_KEY), &bytes(CROSS_COLLECTED), &bytes(CROSS_SAID), &bytes(CROSS_SIGNATURE));
    assert_eq!(told, Err(Untrue("the page stood within another's")));
    let mut message = bytes(CROSS_SAID);
    message.extend(Sha256::digest(bytes(CROSS_COLLECTED)));
    assert_eq!(Key::read(&bytes(CROSS_KEY)).unwrap().verify(&message, &bytes(CROSS_SIGNATURE)), Ok(()));
}

#[test]
fn whatever_is_otherwise_is_refused() {
    let (party, challenge) = (party(), bytes(GET_CHALLENGE));
    let asked = Ceremony {
        party: &party,
        challenge: &challenge,
        verified: false,
    };
    let (key, collected, said, signature) = (bytes(NONE_KEY), bytes(GET_COLLECTED), bytes(GET_SAID), bytes(GET_SIGNATURE));
    let other = RelyingParty::read("https://example.org:8443").unwrap();
    let port = Ceremony { party: &other, ..asked };
    assert_eq!(port.signed(&key, &collected, &said, &signature), Err(Untrue("the origin is another")));
    let below = RelyingParty {
        id: "sub.example.org".into(),
        origin: party.origin.clone(),
    };
    let below = Ceremony { party: &below, ..asked };
    assert_eq!(below.signed(&key, &collected, &said, &signature), Err(Untrue("the relying party is another")));
    let earlier = bytes(NONE_CHALLENGE);
    let earlier = Ceremony { challenge: &earlier, ..asked };
    assert_eq!(earlier.signed(&key, &collected, &said, &signature), Err(Untrue("the challenge is another")));
    assert_eq!(asked.made(&collected, &bytes(NONE_OBJECT)), Err(Untrue("it is of another ceremony")));
    assert_eq!(
        asked.signed(&bytes(CROSS_KEY), &collected, &said, &signature),
        Err(Untrue("the signature is not of this credential"))
    );
    // No bit of any part may be another, and no part may break off.
    for at in 0..said.len() {
        let mut changed = said.clone();
        changed[at] ^= 1;
        assert!(asked.signed(&key, &collected, &changed, &signature).is_err(), "{at}");
        assert!(asked.signed(&key, &collected, &said[..at], &signature).is_err(), "{at}");
    }
    for at in 0..collected.len() {
        let mut changed = collected.clone();
        changed[at] ^= 1;
        assert!(asked.signed(&key, &changed, &said, &signature).is_err(), "{at}");
    }
    for at in 0..signature.len() {
        let mut changed = signature.clone();
        changed[at] ^= 1;
        assert!(asked.signed(&key, &collected, &said, &changed).is_err(), "{at}");
    }
    let longer = [said.as_slice(), &[0]].concat();
    assert!(asked.signed(&key, &collected, &longer, &signature).is_err());
}

#[test]
fn an_object_that_breaks_off_or_goes_on_is_refused() {
    let (party, challenge) = (party(), bytes(NONE_CHALLENGE));
    let asked = Ceremony {
        party: &party,
        challenge: &challenge,
        verified: false,
    };
    let (collected, object) = (bytes(NONE_MADE), bytes(NONE_OBJECT));
    for at in 0..object.len() {
        assert!(asked.made(&collected, &object[..at]).is_err(), "{at}");
    }
    assert!(asked.made(&collected, &[object.as_slice(), &[0]].concat()).is_err());
    assert!(asked.made(&collected, &vec![0xa3; MOST_STATEMENT + 1]).is_err());
    // A map of as many entries as there are numbers ends with its bytes.
    assert!(asked.made(&collected, &[0xbb, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff]).is_err());
    assert!(asked.made(&collected, &vec![0x81; 10_000]).is_err());
    let mut no_point = object;
    let last = no_point.len() - 1;
    no_point[last] ^= 1;
    assert!(asked.made(&collected, &no_point).is_err(), "the point is not on the curve");
}

/// The head of a CBOR item (RFC 8949, section 3) of up to two bytes.
fn head(major: u8, number: usize) -> Vec<u8> {
    let number = u16::try_from(number).unwrap();
    let [high, low] = number.to_be_bytes();
    match number {
        0..24 => vec![major << 5 | low],
        24..256 => vec![major << 5 | 24, low],
        _ => vec![major << 5 | 25, high, low],
    }
}

fn number(value: i64) -> Vec<u8> {
    let size = usize::try_from(if value < 0 { -1 - value } else { value }).unwrap();
    head(u8::from(value < 0), size)
}

/// A COSE key of byte strings and numbers.
fn cose(fields: &[(i64, Result<i64, &[u8]>)]) -> Vec<u8> {
    let mut written = head(5, fields.len());
    for (label, value) in fields {
        written.extend(number(*label));
        match value {
            Ok(value) => written.extend(number(*value)),
            Err(bytes) => written.extend([head(2, bytes.len()), bytes.to_vec()].concat()),
        }
    }
    written
}

#[test]
fn keys_of_the_other_algorithms_verify() {
    let (party, challenge) = (party(), bytes(GET_CHALLENGE));
    let asked = Ceremony {
        party: &party,
        challenge: &challenge,
        verified: false,
    };
    let (collected, said) = (bytes(GET_COLLECTED), bytes(GET_SAID));
    let message = [said.as_slice(), Sha256::digest(&collected).as_slice()].concat();
    let edwards = Ed25519KeyPair::generate().unwrap();
    let key = cose(&[(1, Ok(1)), (3, Ok(EDDSA)), (-1, Ok(6)), (-2, Err(edwards.public_key().as_ref()))]);
    let signature = edwards.sign(&message);
    assert_eq!(asked.signed(&key, &collected, &said, signature.as_ref()), Ok(0));
    assert!(asked.signed(&bytes(NONE_KEY), &collected, &said, signature.as_ref()).is_err());
    let rsa = RsaKeyPair::generate(KeySize::Rsa2048).unwrap();
    // A key of 2048 bits and the usual exponent as PKCS #1 writes it: always at these places.
    let written = rsa.public_key().as_ref().to_vec();
    let (n, e) = (&written[9..265], &written[267..270]);
    let key = cose(&[(1, Ok(3)), (3, Ok(RS256)), (-1, Err(n)), (-2, Err(e))]);
    let mut signature = vec![0; rsa.public_modulus_len()];
    rsa.sign(&RSA_PKCS1_SHA256, &SystemRandom::new(), &message, &mut signature).unwrap();
    assert_eq!(asked.signed(&key, &collected, &said, &signature), Ok(0));
    // Neither a short key nor an algorithm that was not asked for.
    let short = cose(&[(1, Ok(3)), (3, Ok(RS256)), (-1, Err(&n[..128])), (-2, Err(e))]);
    assert!(Key::read(&short).is_err());
    let other = cose(&[(1, Ok(1)), (3, Ok(-19)), (-1, Ok(6)), (-2, Err(edwards.public_key().as_ref()))]);
    assert!(Key::read(&other).is_err());
}

#[test]
fn the_public_address_is_a_name_over_https() {
    for (address, id, origin) in [
        ("https://fullset.agency.example", "fullset.agency.example", "https://fullset.agency.example"),
        (
            "https://Fullset.Agency.example:8443/",
            "fullset.agency.example",
            "https://fullset.agency.example:8443",
        ),
        ("http://localhost:8080", "localhost", "http://localhost:8080"),
    ] {
        let read = RelyingParty::read(address).unwrap();
        assert_eq!((read.id.as_str(), read.origin.as_str()), (id, origin));
    }
    for wrong in [
        "fullset.agency.example",
        "http://fullset.agency.example",
        "https://192.0.2.7",
        "https://[2001:db8::7]:8443",
        "https://agency.example/fullset",
        "https://somebody@agency.example",
        "https://agency.example?x",
        "",
    ] {
        assert!(RelyingParty::read(wrong).is_err(), "{wrong}");
    }
}
