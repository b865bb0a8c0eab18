//! Bodies that were good before a few bytes of them were changed: whatever they have become, the service goes on.

use super::{Document, access::stage, bodies::send_raw, decided_on};
use crate::world::{World, on_both, process};

/// A body with a few bytes changed, taken out or doubled; the same for the same seed.
fn changed(body: &[u8], seed: u64) -> Vec<u8> {
    let mut state = seed.wrapping_mul(2).wrapping_add(1);
    let mut roll = |sides: usize| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(state >> 33).expect("31 bits") % sides.max(1)
    };
    let mut body = body.to_vec();
    for _ in 0..=roll(3) {
        if body.is_empty() {
            break;
        }
        let at = roll(body.len());
        match roll(5) {
            0 => body[at] = [b'"', b'{', b'}', b'[', b']', b',', b':', b'\\', b'0', b'-', b' ', 0, 0xff, b'e'][roll(14)],
            1 => drop(body.remove(at)),
            2 => body.insert(at, body[at]),
            3 => {
                let piece = body[at..body.len().min(at + 1 + roll(12))].to_vec();
                let to = roll(body.len());
                body.splice(to..to, piece);
            }
            _ => body[at] ^= 1 << roll(8),
        }
    }
    body
}

on_both!(a_body_with_a_few_bytes_changed_never_breaks_the_service, async |world: &World| {
    let document = Document::of(world).await;
    let (codes, admin, stage) = (document.codes(), world.admin(), stage(world, world.agency()).await);
    let mut refused = 0;
    for (n, operation) in document.acts().enumerate() {
        for seed in 0..30 {
            let sample = stage.sample(&operation.id);
            let decided = decided_on(&admin, operation, sample.target).await;
            let body = changed(sample.body.to_string().as_bytes(), seed + 1000 * n as u64);
            let reply = send_raw(&admin, &operation.method, &operation.at(sample.target), &decided, "application/json", body).await;
            assert!(reply.status < 500, "{}: {} {}", reply.asked, reply.status, reply.text);
            if !reply.done() {
                operation.refusal(&codes, reply);
                refused += 1;
            }
        }
    }
    assert!(refused > 500, "{refused}");
    for path in [
        "/v1/board",
        "/v1/changes?limit=2000",
        "/v1/rig-standings",
        "/v1/piece-standings",
        "/v1/register.csv",
    ] {
        assert!(admin.get(path).await.done(), "{path}");
    }
    assert!(process::verify(&world.location).0);
});
