//! A good body for every operation that sends a command. An operation without one fails the tests by name.

use serde_json::{Value, json};
use uuid::Uuid;

use super::stage::{Stage, card_draft, card_text, check_plan, notice, receiver, sha256};
use crate::world::{county, in_shop, on_rig, on_shelf};

/// One request that can be applied.
#[derive(Debug, Clone)]
pub struct Sample {
    /// The record in the path.
    pub target: Option<Uuid>,
    pub body: Value,
}

/// The load test of a spreader whose plate names no force, filed by the paper of the maker's service.
fn loaded() -> Value {
    let value = |measure: &str, value: f64, unit: &str| json!({ "measure": measure, "value": { "value": value, "unit": unit } });
    let said = |measure: &str, yes: bool| json!({ "measure": measure, "yes": yes });
    json!({
        "readings": [
            said("sound_to_look", true), value("pressure_reached", 10400.0, "psi"), value("hold_seconds", 12.0, "s"), said("leak_at_end_stop", false),
            said("function_full_stroke", true), value("spreading_force", 52.0, "kN"), value("pulling_force", 41.0, "kN"),
            value("opening_time", 4.5, "s"), value("closing_time", 4.0, "s"),
        ],
        "makers_service": crate::world::acts::paper("2026-11-25"),
        "manual": "service manual, 7.2",
    })
}

fn new() -> Uuid {
    Uuid::now_v7()
}

impl Stage {
    /// A request of this operation that can be applied; each time one makes a record, a new one.
    pub fn sample(&self, operation: &str) -> Sample {
        let (target, body) = self
            .of_register(operation)
            .or_else(|| self.of_day(operation))
            .or_else(|| self.of_trials(operation))
            .or_else(|| self.of_shop(operation))
            .or_else(|| self.of_plans(operation))
            .unwrap_or_else(|| panic!("the operation {operation} has no sample: add one to tests/contract/samples.rs, so that it is tested like the others"));
        Sample { target, body }
    }

    fn of_register(&self, operation: &str) -> Option<(Option<Uuid>, Value)> {
        let c = &self.county;
        let m = &c.models;
        Some(match operation {
            "agency_edit" => {
                let tiles = json!({ "address": "https://tiles.example.org/{z}/{x}/{y}.png", "attribution": "Example Mapping", "nearest_zoom": 17 });
                (None, json!({ "name": "Harrow County Fire", "units": "us", "map_tiles": tiles }))
            }
            "agency_release_rule" => (None, json!({ "kind": "ram", "class": "leak", "rule": { "usable_by": "nobody" } })),
            "agency_grade" => (None, json!({ "grades": county::grades(), "reason": "the committee met" })),
            "member_add" => {
                let id = new();
                let email = format!("{}@harrow.example", id.simple());
                (
                    None,
                    json!({ "id": id, "name": "Sam Sample", "email": email, "role": "crew", "station": c.station_1, "password": "three-more-words" }),
                )
            }
            "member_invite" => {
                let id = new();
                let email = format!("{}@harrow.example", id.simple());
                let link = sha256(id);
                (
                    None,
                    json!({ "id": id, "name": "Ida Invited", "email": email, "role": "crew", "station": c.station_1, "secret_sha256": link }),
                )
            }
            "member_link" => (Some(self.member), json!({ "secret_sha256": sha256(new()) })),
            "member_sign_out" | "member_drop_second_factor" => (Some(self.member), json!({})),
            "api_key_add" => {
                let scope = json!({ "of": "commands", "kinds": ["defect.report"] });
                (
                    None,
                    json!({
                        "id": new(), "name": "Dispatch board", "scope": scope, "station": c.station_1, "expires_at": "2027-06-30T00:00:00.000000Z",
                        "secret_sha256": sha256(new()),
                    }),
                )
            }
            "api_key_revoke" => (Some(self.key), json!({})),
            "member_set_pin" => (None, json!({ "pin": "739164" })),
            "member_sign_off" => (Some(self.member), json!({ "kinds": ["cutter", "spreader"], "until": "2027-11-30" })),
            "member_practise" => (Some(self.member), json!({ "kinds": ["ram"], "on": "2026-11-24" })),
            "member_certify" => (
                Some(self.member),
                json!({ "paper": "Rescue tool technician, course 118", "until": "2027-06-30" }),
            ),
            "member_unlock_pin" => (Some(self.admin), json!({})),
            "device_rename" => (Some(self.phones[0]), json!({ "name": "Phone of the duty officer" })),
            "device_revoke" => (Some(self.phones[1]), json!({})),
            "member_edit" => (Some(self.member), json!({ "name": "Sam Renamed", "role": "officer" })),
            "district_add" => (None, json!({ "id": new(), "name": format!("West {}", new()), "min_full": 1 })),
            "district_edit" => (Some(c.north), json!({ "name": "Upper North", "min_full": 3 })),
            "station_add" => {
                let name = format!("Station {}", new());
                (
                    None,
                    json!({ "id": new(), "name": name, "number": "9", "district": c.north, "lat": 39.1, "lon": -105.2 }),
                )
            }
            "station_edit" => (
                Some(c.station_3),
                json!({ "name": "Station 3 West", "number": "3W", "lat": 39.2, "lon": -105.3 }),
            ),
            "demand_set" => {
                let zone = json!({ "id": new(), "name": "Mill Road", "lat": 39.7, "lon": -105.0, "weight": 12 });
                (
                    Some(self.agency),
                    json!({ "source": "county", "counts": "crashes a year", "target_minutes": 8, "detour": 1.3, "zones": [zone], "times": null }),
                )
            }
            "map_lines_set" => {
                let area = json!([[[-105.2, 39.7], [-105.0, 39.7], [-105.1, 39.9]]]);
                let road = json!([[-105.25, 39.6], [-105.05, 39.8]]);
                (Some(self.agency), json!({ "name": "county.geojson", "areas": [area], "roads": [road] }))
            }
            "map_lines_remove" => (Some(self.agency), json!({})),
            "shop_add" => (None, json!({ "id": new(), "name": format!("Shop {}", new()) })),
            "shop_edit" => (Some(c.shop), json!({ "name": "Main fleet shop" })),
            "coupling_add" => (
                None,
                json!({ "id": new(), "name": format!("Family {}", new()), "mates_with": [c.couplings.flat_face] }),
            ),
            "coupling_edit" => (
                Some(c.couplings.flat_face),
                json!({ "spellings": ["flat face, one line"], "mates_with": [c.couplings.twin_line], "under_pressure": "yes" }),
            ),
            "coupling_rename" => (Some(c.couplings.twin_line), json!({ "name": format!("twin-line {}", new()) })),
            "model_add" => {
                let ratings = json!({ "cutter_opening": { "value": 8.1, "unit": "in", "standard": "NFPA 1936", "edition": "2015" } });
                let hookup = json!({ "coupling": "flat-face single", "fluid": "mineral oil", "pressure": { "value": 10400, "unit": "psi" } });
                (
                    None,
                    json!({ "id": new(), "name": format!("Dorvan {}", new()), "kind": "cutter", "hookup": hookup, "ratings": ratings }),
                )
            }
            "model_edit" => (Some(m.twin_cutter), json!({ "name": "Kessim TC 2" })),
            "model_price" => (
                Some(m.twin_cutter),
                json!({ "price": { "amount": 11_850.0, "priced_on": "2026-10-12", "source": "Offer of 12 October 2026" } }),
            ),
            "rig_class_add" => (
                None,
                json!({ "id": new(), "name": format!("Class {}", new()), "complement": county::engine_complement(), "expects": "full" }),
            ),
            "rig_class_edit" => (
                Some(c.truck_class),
                json!({ "name": "Light rescue", "complement": county::truck_complement(), "expects": "limited" }),
            ),
            "rig_add" => (
                None,
                json!({ "id": new(), "name": format!("Rig {}", new()), "station": c.station_1, "rig_class": c.engine_class }),
            ),
            "rig_edit" => (Some(c.engine_2), json!({ "name": "Engine 22", "station": c.station_2 })),
            "piece_add" => (
                None,
                county::piece(new(), &format!("P-{}", new()), m.cutter, on_shelf(c.station_1))["body"].clone(),
            ),
            "piece_edit" => (
                Some(c.twin_cutter),
                json!({ "serial": "K-9", "made_on": "2021-02-03", "note": "blade pair of 2026", "home": on_shelf(c.station_1), "lent_by": { "name": "Sparrowhale service", "due_on": "2027-01-15" } }),
            ),
            "tool_set_add" => (
                None,
                json!({ "id": new(), "name": format!("Set {}", new()), "home": on_rig(c.engine_2), "pieces": [c.set_2.ram] }),
            ),
            "import_undo" => (Some(self.import), json!({})),
            "tool_set_edit" => (Some(self.set), json!({ "name": "Set one", "add": [c.set_1.ram], "drop": [c.set_1.cutter] })),
            _ => return None,
        })
    }

    fn of_day(&self, operation: &str) -> Option<(Option<Uuid>, Value)> {
        let c = &self.county;
        let pressure = json!({ "measure": "pressure_reached", "value": { "value": 10400, "unit": "psi" } });
        let held = json!({ "measure": "hold_seconds", "value": { "value": 12, "unit": "s" } });
        let looked = json!({ "measure": "sound_to_look", "yes": true });
        let mut evidence = crate::world::acts::tested();
        evidence["note"] = json!("sound");
        let dry = json!({ "measure": "leak_at_end_stop", "yes": false });
        let annual = json!({ "readings": [looked, pressure, held, dry], "makers_service": crate::world::acts::paper("2026-11-20") });
        Some(match operation {
            "rig_take_out" => (Some(c.engine_2), json!({ "reason": "annual service", "planned": true })),
            "rig_exchange" => (
                Some(self.exchanged.0),
                json!({ "to": self.exchanged.1, "pieces": [self.exchanged.2], "reason": "brakes" }),
            ),
            "rig_put_back" => (Some(c.truck_3), json!({ "note": "serviced" })),
            "piece_take_out" => (Some(c.set_2.cutter), json!({ "reason": "annual service", "planned": true })),
            "piece_return" => (Some(c.set_1.ram), json!({ "note": "straightened", "evidence": evidence })),
            "piece_refill" => (
                Some(self.rams[8]),
                json!({ "model": self.ester, "reason": "flushed", "makers_service": "report 120 of 2026-11-20" }),
            ),
            "piece_move" => (Some(self.cutters[2]), json!({ "to": in_shop(c.shop), "arrived": true })),
            "piece_arrive" => (Some(c.spare_hose), json!({})),
            "piece_retire" => (Some(self.cutters[3]), json!({ "reason": "beyond repair", "disposal": "cut up" })),
            "defect_report" => (
                None,
                json!({ "id": new(), "piece": c.set_2.hose, "what": "cover cut", "class": "cut_or_blister", "severity": "out_of_service", "photos": ["5a".repeat(32)] }),
            ),
            "defect_note" => (
                Some(self.open_defect),
                json!({ "text": "seeps more", "class": "leak", "severity": "out_of_service", "photos": ["5a".repeat(32), "5b".repeat(32)] }),
            ),
            "use_record" => (
                None,
                json!({ "id": new(), "rig": c.engine_1, "pieces": [c.set_1.cutter, c.set_1.hose], "what": "two cars, door removal", "incident": "26-1187", "minutes": 40 }),
            ),
            "defect_extend" => (Some(self.lasting_defect), json!({ "reason": "the seal kit comes on Monday" })),
            "defect_close" => (Some(self.other_defect), json!({ "resolution": "tips dressed", "evidence": loaded() })),
            "use_correct" => (
                Some(self.used),
                json!({ "pieces": [c.set_1.cutter, c.set_1.hose], "minutes": 35, "reason": "the hose was used too" }),
            ),
            "use_check" => (Some(self.used), json!({ "pieces": [c.set_1.cutter], "note": "wiped" })),
            "piece_try_out" => (None, json!({ "pieces": [c.set_1.cutter], "note": "opened and closed, dry" })),
            "piece_report_missing" => (Some(self.missing), json!({ "note": "not on the shelf, not on the rig" })),
            "piece_found" => (Some(self.lost), json!({ "place": on_shelf(c.station_2), "note": "behind the compressor" })),
            "piece_serviced" => (
                Some(c.spare_hose),
                json!({ "on": "2026-11-24", "by_whom": "maker's service", "evidence": annual }),
            ),
            "swap_start" => (
                None,
                json!({ "id": new(), "rig": c.engine_1, "piece": c.spare_cutter, "stands_in_for": c.set_1.cutter, "slot": "cutter", "on_the_way": true }),
            ),
            "swap_end" => (Some(self.swaps[0]), json!({ "to": on_shelf(c.station_3), "on_the_way": false })),
            "swap_plan_carry_out" => (
                None,
                json!({ "moves": [{ "swap": new(), "piece": self.hose.0, "piece_rev": self.hose.1, "rig": c.engine_1, "need": null }], "on_the_way": true }),
            ),
            "swap_keep" => (Some(self.swaps[1]), json!({})),
            _ => return None,
        })
    }

    fn of_shop(&self, operation: &str) -> Option<(Option<Uuid>, Value)> {
        let c = &self.county;
        let readings = json!([{ "measure": "sound_to_look", "yes": true }, { "measure": "pressure_reached", "value": { "value": 717, "unit": "bar" } }]);
        Some(match operation {
            "ticket_open" => (
                None,
                json!({ "id": new(), "piece": self.rams[8], "shop": c.shop, "what": "leaks", "defects": [] }),
            ),
            "ticket_accept" => (Some(self.tickets[0]), json!({ "piece_is_here": true })),
            "ticket_work" => (Some(self.tickets[1]), json!({})),
            "ticket_wait" => (
                Some(self.tickets[2]),
                json!({ "reason": "part", "for": "seal kit", "expected_on": "2026-12-04" }),
            ),
            "ticket_assign" => (Some(self.tickets[1]), json!({ "member": self.admin })),
            "ticket_promise" => (Some(self.tickets[2]), json!({ "on": "2027-01-15" })),
            "ticket_include" => (Some(self.tickets[3]), json!({ "defects": [self.ram_defect] })),
            "ticket_cause" => (Some(self.tickets[4]), json!({ "cause": "wear" })),
            "ticket_line" => {
                let line = json!({ "kind": "labour", "what": "resealed", "quantity": 1.5, "unit_cost": 40, "minutes": 45 });
                (Some(self.tickets[3]), json!({ "line": line }))
            }
            "ticket_test" => (
                Some(self.tickets[4]),
                json!({ "passed": true, "readings": readings, "note": "held for a minute", "acceptance": true }),
            ),
            "ticket_return" => (
                Some(self.tickets[5]),
                json!({ "to": on_shelf(c.station_2), "arrived": false, "note": "resealed" }),
            ),
            "ticket_drop" => (Some(self.tickets[6]), json!({ "note": "not worth it" })),
            _ => return None,
        })
    }

    fn of_plans(&self, operation: &str) -> Option<(Option<Uuid>, Value)> {
        Some(match operation {
            "service_plan_save" => (None, self.plan(new(), "2034-01-02")),
            "service_plan_edit" => {
                let mut body = self.plan(self.plans[0], "2030-02-04");
                body.as_object_mut().expect("fields").remove("id");
                (Some(self.plans[0]), body)
            }
            "check_plan_add" => (None, json!({ "id": new(), "plan": check_plan(&format!("After a drop {}", new())) })),
            "check_plan_edit" => {
                let mut plan = check_plan("After a drop 0");
                plan["grace_days"] = json!(2);
                (
                    Some(self.check_plans[0]),
                    json!({ "plan": plan, "reason": "two days until the technician is there" }),
                )
            }
            "calendar_feed_add" => {
                let place = json!({ "of": "rig", "rig": self.county.engine_1 });
                (
                    None,
                    json!({ "id": new(), "name": "Phone of the duty officer", "place": place, "secret_sha256": sha256(new()) }),
                )
            }
            "calendar_feed_revoke" => (Some(self.calendar), json!({})),
            "check_plan_withdraw" => (Some(self.check_plans[1]), json!({ "reason": "the maker's service does it" })),
            "notice_issue" => {
                let id = new();
                (None, notice(id, &format!("N-{id}"), self.county.models.hose))
            }
            "notice_withdraw" => (Some(self.notices[0]), json!({ "reason": "the maker took it back" })),
            "notice_read" => (Some(self.notices[1]), json!({ "station": self.county.station_1, "shift": "A shift" })),
            "notice_seek" => (Some(self.notices[1]), json!({ "piece": self.adapter, "found": true, "note": "on the shelf" })),
            "notice_clear" => (
                Some(self.notices[2]),
                json!({ "piece": self.adapter, "not_affected": false, "evidence": "sleeve exchanged, paper 118" }),
            ),
            "mishap_report" => (
                None,
                json!({
                    "id": new(), "sort": "near_miss", "during": "training", "what": "hose burst beside the operator", "rig": self.county.engine_1,
                    "place": "training ground", "happened_at": "2026-11-25T13:30:00.000000Z", "pieces": [self.county.set_1.hose],
                }),
            ),
            "mishap_close" => (Some(self.mishap), json!({ "finding": "hose cut up; the lot was looked through" })),
            "card_draft_add" => (None, card_draft(new(), self.county.models.hose)),
            "card_draft_edit" => (
                Some(self.drafts[0]),
                json!({ "from_version": 0, "text": card_text("1. Hose on\n2. Valve open"), "note": "for the hose-fed one" }),
            ),
            "card_draft_discard" => (Some(self.drafts[1]), json!({})),
            "card_draft_approve" => (Some(self.drafts[2]), json!({})),
            "operating_card_withdraw" => (Some(self.ester), json!({ "reason": "the lever is on the other side" })),
            "crew_name" => (
                Some(self.county.engine_1),
                json!({ "members": [self.member], "until": "2026-11-26T07:00:00.000000Z" }),
            ),
            "check_record" => {
                let answers = json!([
                    { "step": "blades", "said": { "kind": "yes_no", "yes": true } },
                    { "step": "opening", "said": { "kind": "number", "value": { "value": 4.1, "unit": "s" } } },
                ]);
                (
                    None,
                    json!({ "plan": self.check_plans[2], "version": 1, "piece": self.county.set_1.cutter, "answers": answers, "note": "dry" }),
                )
            }
            "shift_add" => {
                let id = new();
                (
                    None,
                    json!({ "id": id, "station": self.county.station_2, "name": format!("S {}", id.simple()), "members": [self.member] }),
                )
            }
            "shift_edit" => (Some(self.shifts[0]), json!({ "name": "Red shift", "members": [self.member, self.admin] })),
            "shift_remove" => (Some(self.shifts[1]), json!({})),
            "rollout_start" => {
                let id = new();
                (None, self.rollout_body(id, &format!("New hoses {id}")))
            }
            "rollout_edit" => (
                Some(self.rollouts[0]),
                json!({ "name": "New hoses of the north", "minimums": [{ "shift": "A shift", "members": 1 }], "most_a_week": 4, "reason": "the committee met" }),
            ),
            "rollout_close" => (Some(self.rollouts[1]), json!({ "note": "given up: the maker delivers no more" })),
            "rollout_rig_plan" => (
                None,
                json!({ "id": new(), "rollout": self.rollouts[0], "rig": self.exchanged.1, "week": "2026-12-07", "pieces": [] }),
            ),
            "rollout_rig_replan" => (Some(self.rollout_rigs[0]), json!({ "week": "2026-11-30" })),
            "rollout_rig_drop" => (Some(self.rollout_rigs[1]), json!({})),
            "rollout_rig_confirm" => (
                Some(self.rollout_rigs[2]),
                json!({ "what": "marked", "words": "tags on both ends, pairs numbered" }),
            ),
            "rollout_rig_change_over" => (
                Some(self.rollout_rigs[3]),
                json!({ "old_to": { "at": "shop", "shop": self.county.shop }, "old_arrived": true, "words": "at the noon relief" }),
            ),
            "receiver_add" => {
                let id = new();
                (None, receiver(id, &format!("Dispatch {id}")))
            }
            "receiver_edit" => (
                Some(self.receivers[0]),
                json!({ "name": "Dispatch, desk 3", "district": self.county.north, "changes": ["rig_falls"], "on": false, "reason": "they move house" }),
            ),
            "receiver_withdraw" => (Some(self.receivers[1]), json!({ "reason": "they have another system" })),
            "alert_acknowledge" => (Some(self.alert), json!({ "receiver": self.receivers[0], "note": "told by telephone" })),
            "alert_resend" => (Some(self.alert), json!({ "receiver": self.receivers[0] })),
            "service_plan_publish" => (Some(self.plans[1]), json!({})),
            "service_plan_withdraw" => (Some(self.plans[2]), json!({})),
            _ => return None,
        })
    }
}
