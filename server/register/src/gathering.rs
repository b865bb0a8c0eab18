//! What only all rows together can tell: their models, look-alike serial numbers, and which places they name.

use super::{
    catalogue::{self, ModelRow, ReadModel, lines_words},
    cells::{Fault, RowState},
    columns::Field,
    families,
    places::{Placed, Places, ReadPlace},
    reading::{KnownRegister, Note, PassedOver, ReadCoupling, ReadDistrict, ReadPlaces, ReadRig, ReadShop, ReadStation, Refusal, RegisterRow, Unchanged},
    sifting::{Draft, Work},
};
use fullset_calc::plate;
use std::{
    borrow::Cow,
    collections::{HashMap, HashSet},
};

/// A file's rows, judged together.
pub(super) struct Gathered {
    pub(super) rows: Vec<RegisterRow>,
    pub(super) models: Vec<ReadModel>,
    pub(super) couplings: Vec<ReadCoupling>,
    pub(super) places: ReadPlaces,
    pub(super) unchanged: Vec<Unchanged>,
    pub(super) refused: Vec<Refusal>,
    pub(super) passed_over: Vec<PassedOver>,
    pub(super) notes: Vec<Note>,
}

impl Work<'_> {
    /// Models, places and notes of the rows that stand.
    pub(super) fn finish(mut self, drafts: Vec<(Draft, Placed)>, mut refused: Vec<Refusal>, places: &Places, known: &KnownRegister) -> Gathered {
        let mut drafts = self.refuse_twins(drafts, &mut refused, known);
        let batteries = known.models.iter().filter_map(|model| model.hookup.battery.as_deref());
        families::settle(drafts.iter_mut().map(|(draft, _)| draft), &known.couplings, batteries);
        let asked = model_rows(&drafts);
        let made = catalogue::make(&asked, &known.models);
        drop(asked);
        for (line, words) in made.notes {
            self.note(Some(line), words);
        }
        for model in made.models.iter().filter(|model| model.new) {
            let line = drafts
                .iter()
                .zip(&made.of_row)
                .find_map(|((draft, _), key)| key.as_ref().is_ok_and(|key| *key == model.key).then_some(draft.line));
            let of_hookup = model.hookup.warnings(model.kind).into_iter().map(|warning| warning.reason);
            let of_ratings = model.ratings.warnings(model.kind).into_iter().map(|warning| warning.reason);
            for reason in of_hookup.chain(of_ratings) {
                self.note(line, format!("{}: {reason}; look at the plate again", model.name));
            }
        }
        let mut rows = Vec::with_capacity(drafts.len());
        let mut serials: HashMap<(String, String), (usize, String)> = HashMap::new();
        for ((draft, placed), key) in drafts.into_iter().zip(made.of_row) {
            let model_key = match key {
                Ok(key) => key,
                Err(fault) => {
                    refused.push(self.refusal(draft.line, draft.tag, vec![(Some(Field::Model), fault)]));
                    continue;
                }
            };
            if let Some(serial) = &draft.serial {
                self.look_alike(&mut serials, &model_key, draft.line, serial);
            }
            let Draft {
                line,
                tag,
                kind,
                serial,
                made_on,
                in_service_since,
                last_service_on,
                lent_by,
                state,
                state_reason,
                note,
                ..
            } = draft;
            let Placed { place, station, district, .. } = placed;
            rows.push(RegisterRow {
                line,
                tag,
                kind,
                model_key,
                serial,
                place,
                station,
                district,
                made_on,
                in_service_since,
                last_service_on,
                lent_by,
                state,
                state_reason,
                note,
            });
        }
        for ((field, kind, words), lines) in std::mem::take(&mut self.remarks) {
            let column = self.columns.heading(field).unwrap_or_default().to_owned();
            self.note(
                lines.first().copied(),
                format!("\"{column}\" of a {} {words}, on {}", kind.word(), lines_words(&lines)),
            );
        }
        refused.sort_by_key(|refusal| refusal.line);
        self.notes.sort();
        let places = read_places(&rows, places);
        let Self {
            notes, passed_over, unchanged, ..
        } = self;
        Gathered {
            rows,
            couplings: families::brought_in(&made.models, &known.couplings),
            models: made.models,
            places,
            unchanged,
            refused,
            passed_over,
            notes,
        }
    }

    /// Refuses rows whose serial number another row or piece has, before anything is learnt from them.
    fn refuse_twins(&self, drafts: Vec<(Draft, Placed)>, refused: &mut Vec<Refusal>, known: &KnownRegister) -> Vec<(Draft, Placed)> {
        let keys = catalogue::make(&model_rows(&drafts), &known.models).of_row;
        let mut holders: HashMap<String, Vec<Holder<'_>>> = HashMap::new();
        for one in known.pieces.iter().filter(|piece| piece.state != RowState::Retired) {
            let holder = Holder {
                model: Cow::Borrowed(&one.model_key),
                told: Cow::Borrowed(&one.tag),
            };
            if let Some(serial) = &one.serial {
                holders.entry(plate::plain_serial(serial)).or_default().push(holder);
            }
        }
        let mut single = Vec::with_capacity(drafts.len());
        for ((draft, placed), key) in drafts.into_iter().zip(keys) {
            if let (Some(serial), Ok(key)) = (&draft.serial, key) {
                let holders = holders.entry(plate::plain_serial(serial)).or_default();
                if let Some(holder) = holders.iter().find(|holder| holder.may_be(&key)) {
                    let words = format!("the serial {serial} is that of {} already", holder.told);
                    let hint = "look at both plates; a piece stands in the register once".into();
                    let fault = Fault::new("duplicate-serial", words, Some(hint));
                    refused.push(self.refusal(draft.line, draft.tag, vec![(Some(Field::Serial), fault)]));
                    continue;
                }
                if draft.state != RowState::Retired {
                    holders.push(Holder {
                        model: Cow::Owned(key),
                        told: Cow::Owned(format!("the piece on line {}", draft.line)),
                    });
                }
            }
            single.push((draft, placed));
        }
        single
    }

    /// Serial numbers of one model that are the same once O is read as 0 and I as 1.
    fn look_alike(&mut self, serials: &mut HashMap<(String, String), (usize, String)>, model: &str, line: usize, serial: &str) {
        let plain = |c: char| match c.to_ascii_uppercase() {
            'O' => '0',
            'I' | 'L' => '1',
            other => other,
        };
        let folded: String = serial.chars().filter(|c| c.is_alphanumeric()).map(plain).collect();
        match serials.get(&(model.to_owned(), folded.clone())) {
            Some((first, other)) => {
                let words = format!("the serial {serial} is easily taken for {other} on line {first}; look at both plates");
                self.note(Some(line), words);
            }
            None => drop(serials.insert((model.to_owned(), folded), (line, serial.to_owned()))),
        }
    }
}

/// What rows say of their models.
fn model_rows(drafts: &[(Draft, Placed)]) -> Vec<ModelRow<'_>> {
    let rows = drafts.iter().map(|(d, _)| ModelRow {
        line: d.line,
        name: &d.model,
        kind: d.kind,
        hookup: &d.figures.hookup,
        ratings: &d.figures.ratings,
        unknown: &d.figures.unknown,
    });
    rows.collect()
}

/// A live piece, or a row, that has a serial number.
struct Holder<'a> {
    model: Cow<'a, str>,
    told: Cow<'a, str>,
}

impl Holder<'_> {
    /// Whether a row of a model may be the same piece: the same model, or any where a model is not given.
    fn may_be(&self, model: &str) -> bool {
        let unnamed = |key: &str| key.contains(":unnamed ");
        self.model == model || unnamed(&self.model) || unnamed(model)
    }
}

/// The places that rows name.
fn read_places(rows: &[RegisterRow], places: &Places) -> ReadPlaces {
    let mut out = ReadPlaces::default();
    let mut seen: HashSet<(u8, &str)> = HashSet::new();
    for row in rows {
        if let Some(district) = row.district.as_deref().filter(|name| seen.insert((0, name))) {
            out.districts.push(ReadDistrict {
                name: district.to_owned(),
                new: !places.knows_district(district),
            });
        }
        if let Some(name) = row.station.as_deref().filter(|name| seen.insert((1, name))) {
            let (known, number, district) = places.station_facts(name).unwrap_or_default();
            let district = district.or_else(|| row.district.clone()).unwrap_or_default();
            out.stations.push(ReadStation {
                name: name.to_owned(),
                number,
                district,
                new: !known,
            });
        }
        let place = if let ReadPlace::Transit { to } = &row.place { to } else { &row.place };
        match place {
            ReadPlace::Rig { rig } if seen.insert((2, rig)) => {
                out.rigs.push(ReadRig {
                    name: rig.clone(),
                    station: row.station.clone().unwrap_or_default(),
                    new: !places.knows_rig(rig),
                });
            }
            ReadPlace::Shop { shop } if seen.insert((3, shop)) => out.shops.push(ReadShop {
                name: shop.clone(),
                new: !places.knows_shop(shop),
            }),
            _ => {}
        }
    }
    out
}
