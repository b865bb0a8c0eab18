//! Records in every state that an act needs, so that each sample can be applied.

use serde_json::{Value, json};
use uuid::Uuid;

use super::trials::{field_trial, handover, trial_reading};
use crate::world::{
    Client, County,
    acts::{id_of, looked},
    command,
    county::piece,
    in_shop, on_rig, on_shelf,
};

/// What has been set up.
pub struct Stage {
    pub county: County,
    pub member: Uuid,
    /// Keeps the agency, and has a PIN.
    pub admin: Uuid,
    /// Two phones of the admin.
    pub phones: [Uuid; 2],
    /// Cutters on the shelf of station 1; the first two stand in on the engines.
    pub cutters: [Uuid; 4],
    /// Rams in the shop, out of service; all but the last are on the ticket of the same number.
    pub rams: [Uuid; 9],
    /// Tickets: 0 waiting, 1 to 4 accepted, 5 tested, 6 waiting, 7 accepted.
    pub tickets: [Uuid; 8],
    /// A defect of the fourth ram, which its ticket does not know of.
    pub ram_defect: Uuid,
    /// A ram of the other fluid.
    pub ester: Uuid,
    pub open_defect: Uuid,
    pub other_defect: Uuid,
    /// To be put off.
    pub lasting_defect: Uuid,
    pub swaps: [Uuid; 2],
    /// A cutter on the shelf of station 1, to be reported missing.
    pub missing: Uuid,
    /// One that is missing.
    pub lost: Uuid,
    /// A use of the first engine's cutter.
    pub used: Uuid,
    pub set: Uuid,
    /// A front-line rig, a reserve rig, and a hose on the first.
    pub exchanged: (Uuid, Uuid, Uuid),
    /// A register file that was read in, with one piece.
    pub import: Uuid,
    pub agency: Uuid,
    /// A hose on a shelf, and its revision: nothing else touches it.
    pub hose: (Uuid, i64),
    /// Service plans: 0 a draft to change, 1 a draft to publish, 2 to withdraw; on days of their own.
    pub plans: [Uuid; 3],
    /// Check plans of cutters, after a drop: 0 to change, 1 to withdraw, 2 to check by.
    pub check_plans: [Uuid; 3],
    /// Notices about adapters: 0 to withdraw, 1 to look for the adapter by, 2 to be done with it.
    pub notices: [Uuid; 3],
    /// A near miss with the hose of the first engine, to be closed.
    pub mishap: Uuid,
    /// Field trials that the member and the admin answer in: 0 to hand in to and to invite to, 1 to close, 2 to withdraw.
    pub trials: [Uuid; 3],
    /// A reading of the first, to be struck out.
    pub reading: Uuid,
    /// The one adapter, affected by them.
    pub adapter: Uuid,
    /// A calendar of the first station, to be revoked.
    pub calendar: Uuid,
    /// A program's key of the first station, to be revoked.
    pub key: Uuid,
    /// Who is told of changes: 0 to change, 1 to withdraw.
    pub receivers: [Uuid; 2],
    /// Shifts of the second station: 0 to change, 1 to remove.
    pub shifts: [Uuid; 2],
    /// Rollouts: 0 to change, 1 to close, 2 of the adapter.
    pub rollouts: [Uuid; 3],
    /// Their rigs: 0 to plan anew, 1 to take out, 2 to speak for, 3 ready to change over.
    pub rollout_rigs: [Uuid; 4],
    /// Drafts of operating cards: 0 to change, 1 to throw away, 2 to approve.
    pub drafts: [Uuid; 3],
    /// What both were told of: the truck was taken out of service.
    pub alert: Uuid,
}

impl Stage {
    pub async fn set(admin: &Client, county: &County, member: Uuid) -> Self {
        let fresh = || Uuid::now_v7();
        let mut stage = Self {
            county: county.clone(),
            member,
            admin: admin.person.id,
            phones: [fresh(), fresh()],
            cutters: std::array::from_fn(|_| fresh()),
            rams: std::array::from_fn(|_| fresh()),
            tickets: std::array::from_fn(|_| fresh()),
            ram_defect: fresh(),
            ester: fresh(),
            open_defect: fresh(),
            other_defect: fresh(),
            lasting_defect: fresh(),
            swaps: [fresh(), fresh()],
            missing: fresh(),
            lost: fresh(),
            used: fresh(),
            set: fresh(),
            exchanged: (fresh(), fresh(), fresh()),
            import: imported(admin).await,
            agency: id_of(&admin.find("/v1/agency").await),
            hose: (fresh(), 0),
            plans: [fresh(), fresh(), fresh()],
            check_plans: [fresh(), fresh(), fresh()],
            notices: [fresh(), fresh(), fresh()],
            mishap: fresh(),
            trials: [fresh(), fresh(), fresh()],
            reading: fresh(),
            adapter: fresh(),
            calendar: fresh(),
            key: fresh(),
            receivers: [fresh(), fresh()],
            shifts: [fresh(), fresh()],
            rollouts: [fresh(), fresh(), fresh()],
            rollout_rigs: std::array::from_fn(|_| fresh()),
            drafts: [fresh(), fresh(), fresh()],
            alert: Uuid::nil(),
        };
        let mut all = Vec::new();
        let hookup = json!({ "coupling": "flat-face single", "fluid": "phosphate ester", "pressure": { "value": 10400, "unit": "psi" } });
        all.push(command(
            "model.add",
            json!({ "id": stage.ester, "name": "Dorvan R PE", "kind": "ram", "hookup": hookup }),
        ));
        for (n, id) in stage.cutters.iter().enumerate() {
            all.push(piece(*id, &format!("S-CUT-{n}"), county.models.cutter, on_shelf(county.station_1)));
        }
        for (n, (swap, rig)) in stage.swaps.iter().zip([county.engine_1, county.engine_2]).enumerate() {
            all.push(command(
                "swap.start",
                json!({ "id": swap, "rig": rig, "piece": stage.cutters[n], "slot": "cutter" }),
            ));
        }
        for (n, id) in stage.rams.iter().enumerate() {
            all.push(piece(*id, &format!("S-RAM-{n}"), county.models.ram, in_shop(county.shop)));
            all.push(command("piece.take_out", json!({ "id": id, "reason": "annual service", "planned": true })));
        }
        for (ticket, ram) in stage.tickets.iter().zip(stage.rams) {
            all.push(command(
                "ticket.open",
                json!({ "id": ticket, "piece": ram, "shop": county.shop, "what": "leaks" }),
            ));
        }
        for ticket in [1, 2, 3, 4, 5, 7] {
            all.push(command("ticket.accept", json!({ "id": stage.tickets[ticket] })));
        }
        let tested = json!({ "id": stage.tickets[5], "passed": true, "readings": looked(), "note": "resealed" });
        all.push(command("ticket.test", tested));
        for (id, of) in [
            (stage.ram_defect, stage.rams[3]),
            (stage.open_defect, county.set_1.spreader),
            (stage.other_defect, county.set_2.spreader),
            (stage.lasting_defect, county.set_2.spreader),
        ] {
            all.push(command(
                "defect.report",
                json!({ "id": id, "piece": of, "what": "seeps", "class": "deformation", "severity": "usable" }),
            ));
        }
        all.push(command("defect.note", json!({ "id": stage.lasting_defect, "text": "seeps still" })));
        for id in [stage.missing, stage.lost] {
            all.push(piece(id, &format!("S-{}", id.simple()), county.models.cutter, on_shelf(county.station_1)));
        }
        all.push(command("piece.report_missing", json!({ "id": stage.lost, "note": "not on the shelf" })));
        all.push(command(
            "use.record",
            json!({ "id": stage.used, "rig": county.engine_1, "pieces": [county.set_1.cutter] }),
        ));
        for (n, id) in stage.receivers.iter().enumerate() {
            all.push(command("receiver.add", receiver(*id, &format!("Dispatch {n}"))));
        }
        let (leaves, comes, hose) = stage.exchanged;
        for (id, name, duty) in [(leaves, "Engine 7", "front_line"), (comes, "Engine 70", "ready_reserve")] {
            all.push(command(
                "rig.add",
                json!({ "id": id, "name": name, "station": county.station_2, "rig_class": county.engine_class, "duty": duty }),
            ));
        }
        all.push(piece(hose, "S-E7-HOSE", county.models.hose, on_rig(leaves)));
        all.push(command(
            "piece.take_out",
            json!({ "id": county.set_1.ram, "reason": "annual service", "planned": true }),
        ));
        all.push(command("rig.take_out", json!({ "id": county.truck_3, "reason": "at the workshop" })));
        all.push(command(
            "tool_set.add",
            json!({ "id": stage.set, "name": "Set of Engine 1", "pieces": [county.set_1.cutter] }),
        ));
        for (n, id) in stage.plans.iter().enumerate() {
            all.push(command("service_plan.save", stage.plan(*id, &format!("203{n}-01-07"))));
        }
        all.push(command("service_plan.publish", json!({ "id": stage.plans[2] })));
        for (n, id) in stage.check_plans.iter().enumerate() {
            all.push(command("check_plan.add", json!({ "id": id, "plan": check_plan(&format!("After a drop {n}")) })));
        }
        let answer = json!({ "step": "blades", "said": { "kind": "yes_no", "yes": true } });
        all.push(command(
            "check.record",
            json!({ "plan": stage.check_plans[2], "version": 1, "piece": county.set_2.cutter, "answers": [answer] }),
        ));
        let model = fresh();
        all.push(command("model.add", json!({ "id": model, "name": "Adapter A", "kind": "adapter" })));
        all.push(piece(stage.adapter, "S-ADP", model, on_shelf(county.station_1)));
        all.push(command(
            "crew.name",
            json!({ "id": county.engine_1, "members": [], "until": "2026-11-26T07:00:00Z" }),
        ));
        for (n, id) in stage.notices.iter().enumerate() {
            all.push(command("notice.issue", notice(*id, &format!("N-{n}"), model)));
        }
        all.push(command(
            "notice.read",
            json!({ "id": stage.notices[2], "station": county.station_1, "shift": "B shift" }),
        ));
        all.push(command(
            "mishap.report",
            json!({ "id": stage.mishap, "sort": "near_miss", "during": "check", "what": "tool turned in the hand", "rig": county.engine_1, "pieces": [county.set_1.hose] }),
        ));
        for (n, id) in stage.trials.iter().enumerate() {
            all.push(command("field_trial.open", field_trial(*id, &format!("Cutters {n}"), &[stage.admin])));
            let answers = json!([{ "points": 4, "words": "sits well" }, { "points": null }]);
            all.push(command("field_trial.hand_in", json!({ "id": id, "candidate": 2, "answers": answers })));
        }
        all.push(command("trial_reading.add", trial_reading(stage.reading, stage.trials[0])));
        all.push(command("handover.give", handover(county.station_1)));
        all.push(command("member.sign_off", json!({ "id": member, "kinds": ["ram"], "until": "2027-11-30" })));
        for (id, model) in stage.drafts.iter().zip([county.models.cutter, county.models.spreader, county.models.ram]) {
            all.push(command("card_draft.add", card_draft(*id, model)));
        }
        let carded = fresh();
        all.push(command("card_draft.add", card_draft(carded, stage.ester)));
        let place = json!({ "of": "station", "station": county.station_1 });
        let calendar = json!({ "id": stage.calendar, "name": "Kitchen tablet", "place": place, "secret_sha256": sha256(stage.calendar) });
        all.push(command("calendar_feed.add", calendar));
        all.push(command(
            "api_key.add",
            json!({
                "id": stage.key, "name": "Station display", "scope": { "of": "read" }, "station": county.station_1,
                "expires_at": "2027-06-30T00:00:00.000000Z", "secret_sha256": sha256(stage.key),
            }),
        ));
        all.push(command("member.set_pin", json!({ "pin": "482915" })));
        all.push(command(
            "demand.set",
            json!({ "id": stage.agency, "zones": [{ "id": fresh(), "name": "Mill Road", "lat": 39.7, "lon": -105.0, "weight": 9 }] }),
        ));
        let road = json!([[-105.2, 39.6], [-105.0, 39.8]]);
        all.push(command(
            "map_lines.set",
            json!({ "id": stage.agency, "name": "roads.geojson", "roads": [road] }),
        ));
        all.extend(stage.roll_out(model));
        all.push(piece(stage.hose.0, "S-HOSE", county.models.hose, on_shelf(county.station_1)));
        admin.apply(all).await;
        let draft = format!("/v1/card-drafts/{carded}");
        admin.post_on(&format!("{draft}/approve"), admin.rev(&draft).await, json!({})).await.ok();
        let alerts = admin.list("/v1/alerts").await;
        let of_truck = alerts.iter().find(|alert| alert["rig"] == json!(county.truck_3));
        stage.alert = id_of(of_truck.expect("a rig was taken out of service"));
        stage.hose.1 = admin.rev(&format!("/v1/pieces/{}", stage.hose.0)).await;
        for phone in stage.phones {
            let code = admin.post("/v1/enrolments", json!({ "kind": "phone" })).await.ok()["code"].take();
            let device = json!({ "id": phone, "name": "Phone" });
            admin.post("/v1/enrolments/redeem", json!({ "code": code, "device": device })).await.ok();
        }
        admin.move_to(county.spare_hose, on_shelf(county.station_1)).await.ok();
        stage
    }

    /// The body of `service_plan.save` for a plan that begins on a day.
    pub fn plan(&self, id: Uuid, first_day: &str) -> Value {
        let c = &self.county;
        let asked = json!({
            "first_day": first_day, "period_days": 7, "periods": 12, "early_days": 28, "late_days": 14, "hours_per_set": 4,
            "hours": [{ "set": self.set, "hours": 6.5 }],
            "shops": [{ "shop": c.shop, "hours": 30, "closed": [5] }],
            "caps": [{ "district": c.north, "most_away": 1 }],
            "pins": [{ "set": self.set, "period": 3, "shop": c.shop }],
        });
        let visit = json!({
            "set": self.set, "name": "Set of Engine 1", "district": c.north, "period": 3, "shop": c.shop, "hours": 6.5, "due_on": first_day, "late": 3,
            "pinned": true,
        });
        json!({
            "id": id, "name": format!("Plan from {first_day}"), "note": "the usual year", "asked": asked, "visits": [visit],
            "lateness": 3, "peak_hours": 6.5, "proved": true,
        })
    }
}

async fn imported(admin: &Client) -> Uuid {
    let file = "Asset tag,Kind,Model,Assigned to\nI-1,hand pump,Dorvan HP,Station 1 reserve\n";
    id_of(&admin.import("?file_name=one.csv", file.as_bytes().to_vec(), &[]).await.ok())
}

/// A hash as that of a secret, another for each id.
pub fn sha256(of: Uuid) -> String {
    of.simple().to_string().repeat(2)
}

/// A check of cutters after a drop: a look, and the time that they take to open.
pub fn check_plan(name: &str) -> Value {
    let source = json!({ "kind": "practice" });
    let opening = json!({ "kind": "number", "measure": "opening_time", "units": ["s"], "limits": [{ "kind": "fixed", "min": { "value": 2, "unit": "s" } }] });
    json!({
        "name": name, "version": 1, "covers": { "kinds": ["cutter"] }, "rhythm": { "every": "event", "events": ["drop"] },
        "steps": [
            { "id": "blades", "title": "Blades whole, bolt tight", "how": "Look along both edges.", "ask": { "kind": "yes_no", "sound": true }, "source": source, "fails_as": "deformation" },
            { "id": "opening", "title": "Time to open", "ask": opening, "stage": "function", "optional": true, "source": source, "fails_as": "pressure" },
        ],
        "signer": "member", "grace_days": 0, "proves": ["checked"],
    })
}

/// A notice about a model that asks for an inspection.
pub fn notice(id: Uuid, number: &str, model: Uuid) -> Value {
    json!({
        "id": id, "number": number, "title": "Sleeve may not lock", "text": "Look at the sleeve and pull at it.", "issuer": "The maker",
        "dated": "2026-11-20", "action": { "do": "inspect_by", "by": "2027-01-31" }, "covers": { "models": [model] },
    })
}

/// What an operating card says.
pub fn card_text(start: &str) -> Value {
    json!({
        "stowed": "Left side, second compartment.", "start": start, "levers": "", "controls": "Turn the grip: *left* opens, *right* closes.",
        "differs": "", "shut_down": "- Close it to a finger's width", "restow": "", "care": "", "cautions": "", "replaces": null, "pictures": [],
    })
}

/// A draft of the first operating card of a model.
pub fn card_draft(id: Uuid, model: Uuid) -> Value {
    json!({ "id": id, "subject": { "of": "model", "model": model }, "from_version": 0, "text": card_text("1. Pack in\n2. Press **on**"), "note": "the first" })
}

/// Somebody who is told of every change, at an address to which nothing is sent.
pub fn receiver(id: Uuid, name: &str) -> Value {
    json!({
        "id": id, "name": name, "way": "webhook", "address": "https://dispatch.example.org/fullset",
        "secret": "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw", "changes": ["rig_falls", "rig_rises", "district_short", "district_enough"],
    })
}
