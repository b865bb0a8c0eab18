//! What counts as a wrong PIN, and what does not.

use serde_json::{Value, json};

use super::signed::{PIN, is, report, set_pin, tablet};
use crate::world::{World, device, on_both, sql};

on_both!(one_wrong_pin_counts_once_however_much_was_signed_with_it, async |world: &World| {
    let (county, crew, tablet) = (world.county(), world.member("crew_1"), tablet(world).await);
    set_pin(&crew, PIN).await;
    let (good, slip) = (tablet.key(&crew, PIN).await, [7; 32]);
    // A shift's work, signed without a signal by a PIN that was mistyped and passed the tablet's check.
    let backlog: Vec<Value> = (0..30).map(|_| tablet.sign(&crew, &slip, report(county.set_1.pump))).collect();
    for _ in 0..2 {
        for answer in tablet.send_all(backlog.clone()).await {
            is(&answer, "pin-wrong");
        }
    }
    // What was spoilt on its way is no guess either.
    for _ in 0..12 {
        let mut spoilt = tablet.sign(&crew, &good, report(county.set_1.pump));
        spoilt["body"]["what"] = json!("seeps a lot");
        is(&tablet.send(spoilt).await, "pin-wrong");
    }
    assert_eq!(tablet.send(tablet.sign(&crew, &good, report(county.set_1.pump))).await["outcome"], "applied");
    // A check that is kept while the keys change hides no guess: the signature is not looked at.
    let mut hidden = tablet.sign(&crew, &good, report(county.set_1.pump));
    hidden["by"]["check"] = json!(device::check(&slip));
    is(&tablet.send(hidden).await, "pin-wrong");
    for check in ["", "41e4", "41e47678c619f27g", "+1e47678c619f270", "41e47678c619f27041"] {
        let mut odd = tablet.sign(&crew, &good, report(county.set_1.pump));
        odd["by"]["check"] = json!(check);
        let answer = tablet.send(odd).await;
        assert_eq!(
            (&answer["problem"]["code"], &answer["problem"]["field"]),
            (&json!("field-invalid"), &json!("by.check")),
            "{answer}"
        );
    }
});

on_both!(what_was_signed_with_an_earlier_pin_is_refused_and_locks_nothing, async |world: &World| {
    let (county, crew, tablet) = (world.county(), world.member("crew_1"), tablet(world).await);
    set_pin(&crew, PIN).await;
    let before = tablet.key(&crew, PIN).await;
    let sent = tablet.sign(&crew, &before, report(county.set_1.pump));
    assert_eq!(tablet.send(sent.clone()).await["outcome"], "applied");
    for pin in ["391746", "739164"] {
        set_pin(&crew, pin).await;
        for _ in 0..12 {
            is(&tablet.send(tablet.sign(&crew, &before, report(county.set_1.pump))).await, "pin-wrong");
        }
    }
    let wrong = sql::number(&world.location, "SELECT count(*) AS n FROM pin WHERE length(wrong) > 0");
    assert_eq!(wrong, 0, "no guess was counted");
    assert_eq!(tablet.send(sent).await["outcome"], "repeated", "what was applied before stays so");
    let now = tablet.key(&crew, "739164").await;
    assert_eq!(tablet.send(tablet.sign(&crew, &now, report(county.set_1.pump))).await["outcome"], "applied");
});
