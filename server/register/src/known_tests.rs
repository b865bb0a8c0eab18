//! A file that is read again: what the agency has as the rows say is unchanged, what differs is refused with the difference.

use super::{
    catalogue::KnownModel,
    columns::WHY_REFUSED,
    file::RegisterFile,
    reading::{KnownRegister, Options, Reading},
    reading_tests::{codes, file, lines, plain, read, today},
    whereabouts::{KnownPlaces, KnownRig, KnownStation},
    writing,
};

/// An agency that has what a file brought in, and nothing else.
pub(super) fn held(reading: &Reading) -> KnownRegister {
    let places = &reading.places;
    let stations = places.stations.iter().map(|station| KnownStation {
        name: station.name.clone(),
        number: station.number.clone(),
        district: station.district.clone(),
    });
    let rigs = places.rigs.iter().map(|rig| KnownRig {
        name: rig.name.clone(),
        station: rig.station.clone(),
    });
    let models = reading.models.iter().map(|model| KnownModel {
        name: model.name.clone(),
        kind: model.kind,
        hookup: model.hookup.clone(),
        ratings: model.ratings.clone(),
    });
    KnownRegister {
        places: KnownPlaces {
            districts: places.districts.iter().map(|district| district.name.clone()).collect(),
            stations: stations.collect(),
            rigs: rigs.collect(),
            shops: places.shops.iter().map(|shop| shop.name.clone()).collect(),
        },
        models: models.collect(),
        pieces: reading.rows.clone(),
        ..KnownRegister::default()
    }
}

#[test]
fn a_file_read_again_is_unchanged() {
    for name in ["clean.csv", "messy.csv"] {
        let first = plain(&file(name));
        let again = read(&file(name), &Options::default(), &held(&first), today()).unwrap();
        assert_eq!((again.rows.len(), again.unchanged.len()), (0, first.rows.len()), "{name} {:?}", again.refused);
        assert_eq!(codes(&again), codes(&first));
        // What was written out too.
        let written = writing::write(&first.to_write());
        let again = read(written.as_bytes(), &Options::default(), &held(&first), today()).unwrap();
        assert_eq!((again.rows.len(), again.unchanged.len(), codes(&again)), (0, first.rows.len(), vec![]));
        assert_eq!((again.models.len(), again.places.rigs.len()), (0, 0));
    }
    let row = "A1,hose,H,S1,Station 1,1,1,OOS,40 ft,,,,split";
    let known = held(&plain(&lines(&[row])));
    let with = |row: &str| read(&lines(&[row]), &Options::default(), &known, today()).unwrap();
    for same in [row, "a1,hose,h,s1,,1,1,OOS,12.2 m,,,,split", "A1,hose,H,,Station 1,,,OOS,,,,,"] {
        assert_eq!((codes(&with(same)), with(same).unchanged.len()), (vec![], 1), "{same}");
    }
    for (other, what) in [
        ("A1,ram,H,S1,Station 1,1,1,OOS,,,,,split", "another kind"),
        ("A1,hose,H,S1,Station 1,1,1,OOS,30 ft,,,,split", "another model"),
        ("A1,hose,K,S1,Station 1,1,1,OOS,40 ft,,,,split", "another model"),
        ("A1,hose,H,S2,Station 2,2,1,OOS,40 ft,,,,split", "another serial and place"),
        ("A1,hose,H,S1,Station 1,1,1,ok,40 ft,,,,cut", "another state and note"),
    ] {
        let reading = with(other);
        assert_eq!((codes(&reading), reading.unchanged.len()), (vec![(2, "duplicate-tag")], 0), "{other}");
        assert!(reading.refused[0].reason.ends_with(what), "{}", reading.refused[0].reason);
    }
}

#[test]
fn the_sample_to_start_from_is_read_whole() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../dashboard/src/slices/register/sample.csv");
    let reading = plain(&std::fs::read(path).unwrap());
    assert_eq!((codes(&reading), reading.rows.len(), reading.models.len()), (vec![], 6, 6));
    assert_eq!(reading.notes, []);
    assert!(reading.columns.iter().all(|column| column.field.is_some()), "{:?}", reading.columns);
}

#[test]
fn refused_rows_are_handed_out_as_they_stand_and_read_again_when_corrected() {
    let bytes = lines(&[
        "A1,flux,H,,Station 1,1,1,ok,40 ft,,,,",
        "A2,hose,H,,Station 1,1,1,ok,\"40 ft\",,,,\"two\nlines\"",
        "A3,ram,H,,Station 1,1,1,ok,,,,,",
    ]);
    let file = RegisterFile::parse(&bytes, Options::default()).unwrap();
    let reading = file.against(&KnownRegister::default(), today());
    assert_eq!(codes(&reading), [(2, "unknown-kind")]);
    assert_eq!(file.cells(2).unwrap()[..3], ["A1", "flux", "H"]);
    assert_eq!((file.cells(3).unwrap()[12].as_str(), file.cells(4), file.cells(1)), ("two\nlines", None, None));
    let heads: Vec<&str> = reading.columns.iter().map(|column| column.column.as_str()).collect();
    let cells: Vec<String> = file.cells(2).unwrap().iter().map(|cell| cell.replace("flux", "hose")).collect();
    let taken = format!("{},{WHY_REFUSED}\n{},\"flux is no kind; A1, B2\"\n", heads.join(","), cells.join(","));
    let again = plain(taken.as_bytes());
    assert_eq!((codes(&again), again.rows[0].tag.as_str()), (vec![], "A1"));
    assert_eq!(again.columns.last().unwrap().field, None);
}
