//! What a passkey says, and whether it is true: the ceremonies of Web Authentication (level 3, sections 7.1 and 7.2), without keeping
//! anything. Attestation is asked for as "none" and concluded nothing from, whatever comes; keys are ES256, EdDSA (Ed25519) and RS256.

use aws_lc_rs::{
    constant_time::verify_slices_are_equal,
    signature::{ECDSA_P256_SHA256_ASN1, ED25519, ParsedPublicKey, RSA_PKCS1_2048_8192_SHA256, RsaPublicKeyComponents},
};
use base64::{Engine as _, engine::general_purpose::URL_SAFE_NO_PAD};
use minicbor::{Decoder, data::Type};
use reqwest::Url;
use serde::Deserialize;
use sha2::{Digest as _, Sha256};

/// Bytes of a challenge.
pub const CHALLENGE_BYTES: usize = 32;
/// The most bytes of the name of a credential (section 4, "Credential ID").
pub const MOST_CREDENTIAL: usize = 1023;
/// The most bytes of what a browser collected, which is some hundred.
const MOST_CLIENT_DATA: usize = 4096;
/// The most bytes of what an authenticator says; an attestation with its certificates is some thousand.
const MOST_STATEMENT: usize = 16_384;
/// The most bytes of a key as it is kept: RSA of 4096 bits is some five hundred.
const MOST_KEY: usize = 1100;
/// The algorithms that are taken, the one to be preferred first (IANA's registry of COSE).
pub const ALGORITHMS: [i64; 3] = [ES256, EDDSA, RS256];
const ES256: i64 = -7;
const EDDSA: i64 = -8;
const RS256: i64 = -257;

const USER_PRESENT: u8 = 0x01;
const USER_VERIFIED: u8 = 0x04;
const BACKUP_ELIGIBLE: u8 = 0x08;
const BACKED_UP: u8 = 0x10;
const ATTESTED: u8 = 0x40;
const EXTENDED: u8 = 0x80;

/// For whom passkeys are: the service under the one address that it is told, never the one that a request names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RelyingParty {
    /// The name of its host, to which passkeys are bound for good.
    pub id: String,
    /// Its origin, as browsers write it.
    pub origin: String,
}

impl RelyingParty {
    /// Reads the address under which people open the service.
    pub fn read(address: &str) -> Result<Self, String> {
        let wrong = |why: &str| format!("'{address}' cannot be the public address: {why}; give it as https://fullset.agency.example");
        let url = Url::parse(address.trim()).map_err(|error| wrong(&error.to_string()))?;
        let host = url.domain().ok_or_else(|| wrong("passkeys need a name, not a number of a machine"))?;
        let local = host == "localhost" || host.ends_with(".localhost");
        if url.scheme() != "https" && !(url.scheme() == "http" && local) {
            return Err(wrong("browsers offer passkeys over https alone"));
        }
        if !matches!(url.path(), "" | "/") || url.query().is_some() || url.fragment().is_some() || !url.username().is_empty() || url.password().is_some() {
            return Err(wrong("there is more in it than scheme, name and port"));
        }
        Ok(Self {
            id: host.to_owned(),
            origin: url.origin().ascii_serialization(),
        })
    }
}

/// Why a ceremony is refused, for the log; whoever tries is told less.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Untrue(pub &'static str);

/// What a browser answers to what it was asked.
#[derive(Debug, Clone, Copy)]
pub struct Ceremony<'a> {
    /// For whom.
    pub party: &'a RelyingParty,
    /// The challenge.
    pub challenge: &'a [u8],
    /// Whether the authenticator has to know its person, by a PIN or a finger.
    pub verified: bool,
}

/// A credential that was made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewCredential {
    /// Its name.
    pub credential: Vec<u8>,
    /// Its public key, as COSE writes it.
    pub key: Vec<u8>,
    /// Its counter of signatures; 0 where it has none.
    pub counter: u32,
}

#[derive(Deserialize)]
struct ClientData {
    #[serde(rename = "type")]
    kind: String,
    challenge: String,
    origin: String,
    #[serde(rename = "crossOrigin", default)]
    cross_origin: bool,
    #[serde(rename = "topOrigin")]
    top_origin: Option<String>,
}

impl Ceremony<'_> {
    /// What the browser collected is of this ceremony, for this challenge, from our own pages.
    fn collected(&self, kind: &str, client_data: &[u8]) -> Result<(), Untrue> {
        if client_data.len() > MOST_CLIENT_DATA {
            return Err(Untrue("what the browser collected is too long"));
        }
        let given: ClientData = serde_json::from_slice(client_data).map_err(|_| Untrue("what the browser collected is no JSON of that form"))?;
        let challenge = URL_SAFE_NO_PAD.decode(&given.challenge).map_err(|_| Untrue("the challenge is no base64url"))?;
        if given.kind != kind {
            return Err(Untrue("it is of another ceremony"));
        }
        if verify_slices_are_equal(&challenge, self.challenge).is_err() {
            return Err(Untrue("the challenge is another"));
        }
        if given.origin != self.party.origin {
            return Err(Untrue("the origin is another"));
        }
        if given.cross_origin || given.top_origin.is_some() {
            return Err(Untrue("the page stood within another's"));
        }
        Ok(())
    }

    /// What the authenticator says is for us, and of somebody who was there.
    fn said<'b>(&self, bytes: &'b [u8]) -> Result<AuthenticatorData<'b>, Untrue> {
        let said = AuthenticatorData::read(bytes)?;
        if verify_slices_are_equal(said.party, &Sha256::digest(self.party.id.as_bytes())).is_err() {
            return Err(Untrue("the relying party is another"));
        }
        if said.flags & USER_PRESENT == 0 {
            return Err(Untrue("nobody was there"));
        }
        if self.verified && said.flags & USER_VERIFIED == 0 {
            return Err(Untrue("the authenticator did not look who it is"));
        }
        if said.flags & BACKUP_ELIGIBLE == 0 && said.flags & BACKED_UP != 0 {
            return Err(Untrue("it is backed up and cannot be"));
        }
        Ok(said)
    }

    /// A credential that was made: section 7.1.
    pub fn made(&self, client_data: &[u8], attestation: &[u8]) -> Result<NewCredential, Untrue> {
        self.collected("webauthn.create", client_data)?;
        let said = self.said(authenticator_data(attestation)?)?;
        if said.flags & ATTESTED == 0 {
            return Err(Untrue("no credential is in it"));
        }
        let Attested { name: credential, key, rest } = attested(said.rest)?;
        extensions(said.flags, rest)?;
        Key::read(key)?;
        Ok(NewCredential {
            credential: credential.to_vec(),
            key: key.to_vec(),
            counter: said.counter,
        })
    }

    /// A signature of a credential: section 7.2. Answers its counter, which whoever keeps the credential looks at.
    pub fn signed(&self, key: &[u8], client_data: &[u8], authenticator_data: &[u8], signature: &[u8]) -> Result<u32, Untrue> {
        self.collected("webauthn.get", client_data)?;
        let said = self.said(authenticator_data)?;
        if said.flags & ATTESTED != 0 {
            return Err(Untrue("a credential is in what should be signed by one"));
        }
        extensions(said.flags, said.rest)?;
        let mut message = authenticator_data.to_vec();
        message.extend(Sha256::digest(client_data));
        Key::read(key)?.verify(&message, signature)?;
        Ok(said.counter)
    }
}

/// What an authenticator says (section 6.1).
struct AuthenticatorData<'a> {
    party: &'a [u8],
    flags: u8,
    counter: u32,
    rest: &'a [u8],
}

const SHORT: Untrue = Untrue("what the authenticator says breaks off");

impl<'a> AuthenticatorData<'a> {
    fn read(bytes: &'a [u8]) -> Result<Self, Untrue> {
        if bytes.len() > MOST_STATEMENT {
            return Err(Untrue("what the authenticator says is too long"));
        }
        let (party, rest) = bytes.split_at_checked(32).ok_or(SHORT)?;
        let (flags, rest) = rest.split_first().ok_or(SHORT)?;
        let (counter, rest) = rest.split_first_chunk::<4>().ok_or(SHORT)?;
        Ok(Self {
            party,
            flags: *flags,
            counter: u32::from_be_bytes(*counter),
            rest,
        })
    }
}

const CBOR: Untrue = Untrue("what the authenticator says is no CBOR of that form");

/// What an authenticator says, out of an attestation object; its statement is passed over.
fn authenticator_data(attestation: &[u8]) -> Result<&[u8], Untrue> {
    if attestation.len() > MOST_STATEMENT {
        return Err(Untrue("the attestation is too long"));
    }
    let mut reader = Decoder::new(attestation);
    let mut found = None;
    for _ in 0..reader.map().ok().flatten().ok_or(CBOR)? {
        match reader.str().map_err(|_| CBOR)? {
            "authData" if found.is_none() => found = Some(reader.bytes().map_err(|_| CBOR)?),
            _ => reader.skip().map_err(|_| CBOR)?,
        }
    }
    if reader.position() != attestation.len() {
        return Err(CBOR);
    }
    found.ok_or(CBOR)
}

/// A credential as the authenticator tells of it (section 6.5.1).
struct Attested<'a> {
    name: &'a [u8],
    key: &'a [u8],
    /// What stands after it.
    rest: &'a [u8],
}

fn attested(bytes: &[u8]) -> Result<Attested<'_>, Untrue> {
    let (_model, rest) = bytes.split_at_checked(16).ok_or(SHORT)?;
    let (length, rest) = rest.split_first_chunk::<2>().ok_or(SHORT)?;
    let length = usize::from(u16::from_be_bytes(*length));
    if length == 0 || length > MOST_CREDENTIAL {
        return Err(Untrue("the credential's name has no length that one may have"));
    }
    let (name, rest) = rest.split_at_checked(length).ok_or(SHORT)?;
    let mut reader = Decoder::new(rest);
    reader.skip().map_err(|_| CBOR)?;
    let (key, rest) = rest.split_at_checked(reader.position()).ok_or(SHORT)?;
    Ok(Attested { name, key, rest })
}

/// Nothing stands at the end but what the flags announce. None was asked for, so nothing is read of them.
fn extensions(flags: u8, rest: &[u8]) -> Result<(), Untrue> {
    if flags & EXTENDED == 0 {
        return if rest.is_empty() {
            Ok(())
        } else {
            Err(Untrue("there is more than was announced"))
        };
    }
    let mut reader = Decoder::new(rest);
    if !matches!(reader.datatype(), Ok(Type::Map)) || reader.skip().is_err() || reader.position() != rest.len() {
        return Err(CBOR);
    }
    Ok(())
}

/// A public key of a credential.
enum Key {
    Parsed(ParsedPublicKey),
    Rsa(RsaPublicKeyComponents<Vec<u8>>),
}

/// What of a COSE key is read (RFC 9052, section 7; RFC 9053, section 7; RFC 8230, section 4).
#[derive(Default)]
struct Fields<'a> {
    kind: Option<i64>,
    algorithm: Option<i64>,
    curve: Option<i64>,
    /// By label: -1 (of RSA n), -2 (x, of RSA e), -3 (y).
    bytes: [Option<&'a [u8]>; 3],
}

impl<'a> Fields<'a> {
    fn read(key: &'a [u8]) -> Result<Self, Untrue> {
        let mut reader = Decoder::new(key);
        let mut fields = Self::default();
        for _ in 0..reader.map().ok().flatten().ok_or(CBOR)? {
            let label = reader.i64().map_err(|_| CBOR)?;
            let number = !matches!(reader.datatype().map_err(|_| CBOR)?, Type::Bytes);
            match label {
                1 => fields.kind = Some(reader.i64().map_err(|_| CBOR)?),
                3 => fields.algorithm = Some(reader.i64().map_err(|_| CBOR)?),
                -1 if number => fields.curve = Some(reader.i64().map_err(|_| CBOR)?),
                -3..=-1 => {
                    let place = usize::try_from(-1 - label).ok().and_then(|at| fields.bytes.get_mut(at)).ok_or(CBOR)?;
                    *place = Some(reader.bytes().map_err(|_| CBOR)?);
                }
                _ => reader.skip().map_err(|_| CBOR)?,
            }
        }
        if reader.position() == key.len() { Ok(fields) } else { Err(CBOR) }
    }
}

impl Key {
    fn read(key: &[u8]) -> Result<Self, Untrue> {
        const WRONG: Untrue = Untrue("the key is none of its algorithm");
        if key.len() > MOST_KEY {
            return Err(Untrue("the key is too long"));
        }
        let fields = Fields::read(key)?;
        match (fields.kind, fields.algorithm, fields.curve, fields.bytes) {
            (Some(2), Some(ES256), Some(1), [None, Some(x), Some(y)]) if x.len() == 32 && y.len() == 32 => {
                let point = [&[4], x, y].concat();
                ParsedPublicKey::new(&ECDSA_P256_SHA256_ASN1, point).map(Self::Parsed).map_err(|_| WRONG)
            }
            (Some(1), Some(EDDSA), Some(6), [None, Some(x), None]) if x.len() == 32 => ParsedPublicKey::new(&ED25519, x).map(Self::Parsed).map_err(|_| WRONG),
            (Some(3), Some(RS256), None, [Some(n), Some(e), None]) if (256..=512).contains(&n.len()) && (1..=4).contains(&e.len()) => {
                Ok(Self::Rsa(RsaPublicKeyComponents { n: n.to_vec(), e: e.to_vec() }))
            }
            _ => Err(Untrue("the key is of no algorithm that was asked for")),
        }
    }

    fn verify(&self, message: &[u8], signature: &[u8]) -> Result<(), Untrue> {
        let verified = match self {
            Self::Parsed(key) => key.verify_sig(message, signature),
            Self::Rsa(key) => key.verify(&RSA_PKCS1_2048_8192_SHA256, message, signature),
        };
        verified.map_err(|_| Untrue("the signature is not of this credential"))
    }
}

#[cfg(test)]
#[path = "webauthn_tests.rs"]
mod tests;
