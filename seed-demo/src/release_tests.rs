//! Every report, limit, test and return of the story, held to the rules of release themselves.

use crate::{
    county::HOSE_YEARS,
    deeds::Deed,
    evidence::{DefectClass, Evidence},
    plan::Plan,
    story::Act,
};
use chrono::NaiveDate;
use fullset_calc::{
    capability::life_ends,
    ratings::{Kind, Ratings},
    release::{self, AgencyRules, Baseline, HoseLife, Plate, Role},
    units::Quantity,
};
use serde::de::DeserializeOwned;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use uuid::Uuid;

fn read<T: DeserializeOwned>(value: Value) -> T {
    serde_json::from_value(value.clone()).unwrap_or_else(|error| panic!("{value}: {error}"))
}

fn class(class: DefectClass) -> release::DefectClass {
    read(json!(class.wire()))
}

fn role(act: &Act) -> Role {
    match act.who.role {
        "crew" => Role::Crew,
        "officer" => Role::Officer,
        "chief" => Role::Chief,
        "shop" => Role::Shop,
        "coordinator" => Role::Coordinator,
        _ => Role::Admin,
    }
}

fn evidence(given: &Evidence, note: &str) -> release::Evidence {
    let mut fields = given.fields();
    fields.insert("note".into(), note.into());
    let evidence: release::Evidence = read(fields.into());
    assert!(evidence.faults().is_empty(), "{:?}", evidence.faults());
    evidence
}

/// What the register knows of a piece.
struct Known {
    kind: Kind,
    on_battery: bool,
    nominal: Option<Quantity>,
    ratings: Ratings,
    life: HoseLife,
    baseline: Vec<Baseline>,
    /// What its return must answer for.
    open: Vec<(release::DefectClass, Option<Uuid>)>,
}

impl Known {
    fn plate(&self) -> Plate<'_> {
        Plate {
            kind: self.kind,
            on_battery: self.on_battery,
            nominal: self.nominal,
            ratings: &self.ratings,
            life: self.life,
        }
    }
}

/// A defect of the story.
#[derive(Debug)]
struct Open {
    piece: Uuid,
    class: release::DefectClass,
    found: NaiveDate,
    /// The day from which on the piece is not usable, while it is.
    repair_by: Option<NaiveDate>,
}

/// The story as a strict shop lead reads it.
struct Reader<'p> {
    plan: &'p Plan,
    pieces: BTreeMap<Uuid, Known>,
    defects: BTreeMap<Uuid, Open>,
    tickets: BTreeMap<Uuid, (Uuid, Vec<Uuid>)>,
    /// How many decisions were judged.
    judged: usize,
}

impl<'p> Reader<'p> {
    fn new(plan: &'p Plan) -> Self {
        let county = &plan.county;
        let known = |piece: &crate::county::Piece| {
            let model = county.model(piece).unwrap();
            let kind: Kind = read(json!(model.kind.wire()));
            let life = if kind == Kind::Hose {
                HoseLife::EndsOn(life_ends(piece.made_on, HOSE_YEARS).unwrap())
            } else {
                HoseLife::NotAHose
            };
            Known {
                kind,
                on_battery: model.hookup.get("battery").is_some(),
                nominal: model.hookup.get("pressure").cloned().map(read),
                ratings: read(model.ratings.clone()),
                life,
                baseline: Vec::new(),
                open: Vec::new(),
            }
        };
        Self {
            plan,
            pieces: county.pieces.iter().map(|piece| (piece.id, known(piece))).collect(),
            defects: BTreeMap::new(),
            tickets: BTreeMap::new(),
            judged: 0,
        }
    }

    fn held(&mut self, act: &Act, piece: Uuid, classes: &[release::DefectClass], given: &Evidence, note: &str) {
        let known = &self.pieces[&piece];
        let on = act.when.date(self.plan.county.today);
        let judged = release::release(&known.plate(), classes, &evidence(given, note), &known.baseline, role(act), on);
        assert!(judged.is_ok(), "{} {:?}: {judged:?}\n{:?}", act.who.name, classes, act.deed);
        self.judged += 1;
    }

    fn read(&mut self, act: &Act) {
        let on = act.when.date(self.plan.county.today);
        match &act.deed {
            Deed::Report {
                defect, piece, class: of, out, ..
            } => {
                let known = self.pieces.get_mut(piece).unwrap();
                let class = class(*of);
                let repair_by = if *out {
                    known.open.push((class, Some(*defect)));
                    None
                } else {
                    let limit = release::may_stay_usable(known.kind, class, role(act), &AgencyRules::default());
                    let limit = limit.unwrap_or_else(|refusal| panic!("{refusal:?}: {:?}", act.deed));
                    self.judged += 1;
                    release::repair_by(on, limit.days)
                };
                let open = Open {
                    piece: *piece,
                    class,
                    found: on,
                    repair_by,
                };
                self.defects.insert(*defect, open);
            }
            Deed::Note { defect, out: true, .. } => {
                let open = self.defects.get_mut(defect).unwrap();
                assert!(open.repair_by.is_none_or(|by| on < by), "sent in after its date: {:?}", act.deed);
                open.repair_by = None;
                let (piece, class) = (open.piece, open.class);
                self.pieces.get_mut(&piece).unwrap().open.push((class, Some(*defect)));
            }
            Deed::Extend { defect, reason, .. } => {
                let open = self.defects.get_mut(defect).unwrap();
                let kind = self.pieces[&open.piece].kind;
                let days = release::limit_for(kind, open.class, &AgencyRules::default()).unwrap().days;
                let by = open.repair_by.unwrap();
                let again = release::may_extend(by, days, false, reason, role(act), on);
                open.repair_by = Some(again.unwrap_or_else(|refusal| panic!("found {}: {refusal:?}", open.found)));
                self.judged += 1;
            }
            Deed::Close {
                defect,
                piece,
                resolution,
                evidence,
            } => {
                let open = self.defects.remove(defect).unwrap();
                assert!(open.repair_by.is_none_or(|by| on < by), "closed after its date: {:?}", act.deed);
                self.held(act, *piece, &[open.class], evidence, resolution);
                self.pieces.get_mut(piece).unwrap().open.retain(|(_, of)| *of != Some(*defect));
            }
            Deed::TakeOut { piece, class: of, .. } => {
                let known = self.pieces.get_mut(piece).unwrap();
                known.open.extend(of.map(|of| (class(of), None)));
            }
            Deed::Missing { piece, .. } => self.pieces.get_mut(piece).unwrap().open.push((release::DefectClass::Other, None)),
            Deed::Back { piece, note, evidence } => {
                let classes: Vec<_> = self.pieces[piece].open.iter().map(|(class, _)| *class).collect();
                self.held(act, *piece, &classes, evidence, note);
                self.pieces.get_mut(piece).unwrap().open.clear();
            }
            Deed::Open { ticket, piece, defects, .. } => {
                self.tickets.insert(*ticket, (*piece, defects.clone()));
            }
            Deed::Test {
                ticket,
                passed: true,
                evidence,
                note,
            } => {
                let (piece, defects) = self.tickets[ticket].clone();
                let tied = defects.iter().map(|defect| self.defects[defect].class);
                let classes: Vec<_> = tied.chain(self.pieces[&piece].open.iter().map(|(class, _)| *class)).collect();
                self.held(act, piece, &classes, evidence, note);
            }
            Deed::Return { piece, defects, .. } => {
                for defect in defects {
                    self.defects.remove(defect);
                }
                self.pieces.get_mut(piece).unwrap().open.clear();
            }
            Deed::Serviced {
                piece,
                evidence: given,
                by_whom,
                ..
            } => {
                let known = self.pieces.get_mut(piece).unwrap();
                let given = evidence(given, by_whom);
                let needed = release::needed_for_annual(&known.plate(), &known.baseline);
                let judged = needed.met_by(&known.plate(), &given, role(act), on);
                assert!(judged.is_ok(), "{judged:?}: {:?}", act.deed);
                self.judged += 1;
                if known.baseline.is_empty() {
                    let values = given.readings.iter().filter(|reading| reading.measure.dimension().is_some());
                    known.baseline = values
                        .filter_map(|reading| {
                            Some(Baseline {
                                measure: reading.measure,
                                value: reading.value?,
                            })
                        })
                        .collect();
                }
            }
            Deed::Retire { piece, disposal, .. } => {
                assert!(disposal.len() > 10, "{:?}", act.deed);
                self.defects.retain(|_, open| open.piece != *piece);
            }
            Deed::Undated { piece, .. } => self.pieces.get_mut(piece).unwrap().life = HoseLife::Unknown,
            _ => {}
        }
    }
}

fn reader(plan: &Plan) -> Reader<'_> {
    let mut reader = Reader::new(plan);
    plan.acts.iter().for_each(|act| reader.read(act));
    reader
}

#[test]
fn every_limit_test_and_return_stands_by_the_rules_of_release() {
    for end in super::tests::ends() {
        let plan = Plan::of(end).unwrap();
        let reader = reader(&plan);
        assert!(reader.judged >= 200, "{}", reader.judged);
        for open in reader.defects.values() {
            assert!(
                open.repair_by.is_none_or(|by| end < by),
                "{end}: past its date, {open:?}, {}",
                plan.county.pieces.iter().find(|p| p.id == open.piece).map_or("", |p| &p.tag)
            );
        }
    }
}

#[test]
fn a_drowned_tool_that_an_officer_dries_is_found_out() {
    let mut plan = Plan::of(super::tests::ends().next().unwrap()).unwrap();
    let test = plan.acts.iter_mut().find_map(|act| match &mut act.deed {
        Deed::Test { evidence, .. } if evidence.makers_service.is_some() => Some(evidence),
        _ => None,
    });
    test.unwrap().makers_service = None;
    assert!(std::panic::catch_unwind(|| reader(&plan).judged).is_err());
}
