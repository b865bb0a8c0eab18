//! What the tables must be to each other, as queries that find where they are not.

use diesel::{
    QueryableByName, RunQueryDsl as _, sql_query,
    sql_types::{BigInt, Text},
};

use super::{Finding, JUDGE_AGAIN, MOST, PUT_BACK, Report};
use crate::{
    on,
    platform::{
        db::{
            Db,
            types::{Uid, UidSql},
        },
        error::Fault,
        ids::AgencyId,
    },
};

/// A rule of the tables: a query for `agency`, `id` and `words` (which record) of each row that breaks it.
struct Rule {
    what: &'static str,
    query: &'static str,
    mend: &'static str,
}

const RULES: &[Rule] = &[
    Rule {
        what: "a state has a revision that the journal does not have",
        query: "SELECT s.agency, s.id, s.kind || ' at revision ' || s.rev AS words FROM state s
                WHERE NOT EXISTS (SELECT 1 FROM journal j WHERE j.agency = s.agency AND j.rev = s.rev)",
        mend: PUT_BACK,
    },
    Rule {
        what: "a state that was replaced is not older than the record",
        query: "SELECT r.agency, r.id, r.kind || ' at revision ' || p.rev AS words FROM record r
                JOIN replaced p ON p.agency = r.agency AND p.kind = r.kind AND p.id = r.id WHERE p.rev >= r.rev",
        mend: PUT_BACK,
    },
    Rule {
        what: "the journal says that a command changed a record, and neither that state nor a later one is kept",
        query: "SELECT j.agency, j.record AS id, j.record_kind || ' at revision ' || j.rev AS words FROM journal j
                WHERE j.record IS NOT NULL
                AND NOT EXISTS (SELECT 1 FROM record r WHERE r.agency = j.agency AND r.kind = j.record_kind AND r.id = j.record AND r.rev >= j.rev)
                AND NOT EXISTS (SELECT 1 FROM replaced p WHERE p.agency = j.agency AND p.kind = j.record_kind AND p.id = j.record AND p.rev >= j.rev)",
        mend: PUT_BACK,
    },
    Rule {
        what: "a record was renamed at a revision that the journal does not have",
        query: "SELECT r.agency, r.id, r.kind || ' at revision ' || r.renamed AS words FROM record r WHERE r.renamed IS NOT NULL
                AND NOT EXISTS (SELECT 1 FROM journal j WHERE j.agency = r.agency AND j.rev = r.renamed)",
        mend: PUT_BACK,
    },
    Rule {
        what: "a record is told to have left a place at a revision that the journal does not have",
        query: "SELECT d.agency, d.id, d.kind || ' at revision ' || d.rev AS words FROM departure d
                WHERE NOT EXISTS (SELECT 1 FROM journal j WHERE j.agency = d.agency AND j.rev = d.rev)",
        mend: PUT_BACK,
    },
    Rule {
        what: "a record on a rig is not said to be at the rig's station",
        query: "SELECT r.agency, r.id, r.kind AS words FROM record r JOIN record g ON g.agency = r.agency AND g.kind = 'rig' AND g.id = r.rig
                WHERE NOT r.gone AND NOT g.gone AND r.station IS DISTINCT FROM g.station",
        mend: PUT_BACK,
    },
    Rule {
        what: "a record at a station is not said to be in the station's district",
        query: "SELECT r.agency, r.id, r.kind AS words FROM record r JOIN record s ON s.agency = r.agency AND s.kind = 'station' AND s.id = r.station
                WHERE NOT r.gone AND NOT s.gone AND r.district IS DISTINCT FROM s.district",
        mend: PUT_BACK,
    },
    Rule {
        what: "an interval of how a rig stood ends before it begins",
        query: "SELECT s.agency, s.rig AS id, 'rig, from revision ' || s.from_rev AS words FROM standing s WHERE s.until_at < s.from_at",
        mend: PUT_BACK,
    },
    Rule {
        what: "an interval of how a rig stood reaches into the next one",
        query: "SELECT s.agency, s.rig AS id, 'rig, from revision ' || s.from_rev AS words
                FROM (SELECT agency, rig, from_rev, until_at, lead(from_at) OVER (PARTITION BY agency, rig ORDER BY from_rev) AS next_at FROM standing) s
                WHERE s.next_at IS NOT NULL AND (s.until_at IS NULL OR s.until_at > s.next_at)",
        mend: PUT_BACK,
    },
    Rule {
        what: "an interval of how a rig stood begins at a revision that the journal does not have",
        query: "SELECT s.agency, s.rig AS id, 'rig, from revision ' || s.from_rev AS words FROM standing s
                WHERE NOT EXISTS (SELECT 1 FROM journal j WHERE j.agency = s.agency AND j.rev = s.from_rev)",
        mend: PUT_BACK,
    },
    Rule {
        what: "how a rig stands has no open interval of its level",
        query: "SELECT r.agency, r.id, 'rig' AS words FROM record r WHERE r.kind = 'rig_standing' AND NOT r.gone
                AND NOT EXISTS (SELECT 1 FROM standing s WHERE s.agency = r.agency AND s.rig = r.id AND s.until_at IS NULL AND s.level = r.state)",
        mend: JUDGE_AGAIN,
    },
    Rule {
        what: "a rig that does not stand any more has an open interval",
        query: "SELECT s.agency, s.rig AS id, 'rig' AS words FROM standing s WHERE s.until_at IS NULL
                AND NOT EXISTS (SELECT 1 FROM record r WHERE r.agency = s.agency AND r.kind = 'rig_standing' AND r.id = s.rig AND NOT r.gone)",
        mend: PUT_BACK,
    },
    Rule {
        what: "the answer about a rig runs out, and the clock is not to look at it",
        query: "SELECT s.agency, s.rig AS id, 'rig' AS words FROM standing s WHERE s.until_at IS NULL AND s.holds_until IS NOT NULL
                AND NOT EXISTS (SELECT 1 FROM lapse l WHERE l.agency = s.agency AND l.kind = 'rig' AND l.id = s.rig)",
        mend: JUDGE_AGAIN,
    },
    Rule {
        what: "the clock is to look at a record that is not there",
        query: "SELECT l.agency, l.id, l.kind AS words FROM lapse l
                WHERE NOT EXISTS (SELECT 1 FROM record r WHERE r.agency = l.agency AND r.kind = l.kind AND r.id = l.id AND NOT r.gone)",
        mend: PUT_BACK,
    },
    Rule {
        what: "an agency has no record of itself",
        query: "SELECT a.id AS agency, a.id, 'agency' AS words FROM agency a
                WHERE NOT EXISTS (SELECT 1 FROM record r WHERE r.agency = a.id AND r.kind = 'agency' AND r.id = a.id AND NOT r.gone)",
        mend: "its founding broke off: found it anew under the same name with fullset setup",
    },
    Rule {
        what: "a password is kept of a member who is not there",
        query: "SELECT c.agency, c.member AS id, 'member' AS words FROM credential c
                WHERE NOT EXISTS (SELECT 1 FROM record r WHERE r.agency = c.agency AND r.kind = 'member' AND r.id = c.member AND NOT r.gone)",
        mend: PUT_BACK,
    },
    Rule {
        what: "a PIN is kept of a member who is not there",
        query: "SELECT c.agency, c.member AS id, 'member' AS words FROM pin c
                WHERE NOT EXISTS (SELECT 1 FROM record r WHERE r.agency = c.agency AND r.kind = 'member' AND r.id = c.member AND NOT r.gone)",
        mend: PUT_BACK,
    },
    Rule {
        what: "a second factor is kept of a member who is not there",
        query: "SELECT c.agency, c.member AS id, 'member' AS words FROM second_factor c
                WHERE NOT EXISTS (SELECT 1 FROM record r WHERE r.agency = c.agency AND r.kind = 'member' AND r.id = c.member AND NOT r.gone)",
        mend: PUT_BACK,
    },
    Rule {
        what: "a passkey is kept of a member who is not there",
        query: "SELECT c.agency, c.member AS id, 'member' AS words FROM passkey c
                WHERE NOT EXISTS (SELECT 1 FROM record r WHERE r.agency = c.agency AND r.kind = 'member' AND r.id = c.member AND NOT r.gone)",
        mend: PUT_BACK,
    },
    Rule {
        what: "a phone gets notices for a member who is not there",
        query: "SELECT c.agency, c.member AS id, 'member' AS words FROM push_subscription c
                WHERE NOT EXISTS (SELECT 1 FROM record r WHERE r.agency = c.agency AND r.kind = 'member' AND r.id = c.member AND NOT r.gone)",
        mend: PUT_BACK,
    },
    Rule {
        what: "the secret of a program's key is kept, and the key is not there",
        query: "SELECT c.agency, c.api_key AS id, 'api_key' AS words FROM api_key_secret c
                WHERE NOT EXISTS (SELECT 1 FROM record r WHERE r.agency = c.agency AND r.kind = 'api_key' AND r.id = c.api_key)",
        mend: PUT_BACK,
    },
    Rule {
        what: "a sign-in that goes on is of a member who is not there",
        query: "SELECT t.agency, t.family AS id, 'sign-in' AS words FROM refresh_token t WHERE t.ended_at IS NULL AND t.member IS NOT NULL
                AND NOT EXISTS (SELECT 1 FROM record r WHERE r.agency = t.agency AND r.kind = 'member' AND r.id = t.member AND NOT r.gone)",
        mend: PUT_BACK,
    },
    Rule {
        what: "a sign-in that goes on is of a device that is not there",
        query: "SELECT t.agency, t.family AS id, 'sign-in' AS words FROM refresh_token t WHERE t.ended_at IS NULL AND t.device IS NOT NULL
                AND NOT EXISTS (SELECT 1 FROM record r WHERE r.agency = t.agency AND r.kind = 'device' AND r.id = t.device AND NOT r.gone)",
        mend: PUT_BACK,
    },
    Rule {
        what: "the secret of a calendar is kept, and the calendar is not there",
        query: "SELECT c.agency, c.feed AS id, 'calendar_feed' AS words FROM calendar_secret c
                WHERE NOT EXISTS (SELECT 1 FROM record r WHERE r.agency = c.agency AND r.kind = 'calendar_feed' AND r.id = c.feed)",
        mend: PUT_BACK,
    },
    Rule {
        what: "the secret of a receiver is kept, and the receiver is not there",
        query: "SELECT c.agency, c.receiver AS id, 'receiver' AS words FROM receiver_secret c
                WHERE NOT EXISTS (SELECT 1 FROM record r WHERE r.agency = c.agency AND r.kind = 'receiver' AND r.id = c.receiver)",
        mend: PUT_BACK,
    },
    Rule {
        what: "a message is about an alert that is not there",
        query: "SELECT t.agency, t.alert AS id, 'alert' AS words FROM telling t
                WHERE NOT EXISTS (SELECT 1 FROM record r WHERE r.agency = t.agency AND r.kind = 'alert' AND r.id = t.alert)",
        mend: PUT_BACK,
    },
    Rule {
        what: "running hours are kept of a piece that is not there",
        query: "SELECT c.agency, c.piece AS id, 'piece' AS words FROM piece_run c
                WHERE NOT EXISTS (SELECT 1 FROM state r WHERE r.agency = c.agency AND r.kind = 'piece' AND r.id = c.piece)",
        mend: PUT_BACK,
    },
    Rule {
        what: "the answers of a field trial are kept, and nothing says that they were handed in",
        query: "SELECT t.agency, t.answer AS id, 'trial_answer' AS words FROM trial_sheet t
                WHERE NOT EXISTS (SELECT 1 FROM record r WHERE r.agency = t.agency AND r.kind = 'trial_answer' AND r.id = t.answer AND r.parent = t.trial)",
        mend: PUT_BACK,
    },
    Rule {
        what: "the answers of a field trial were handed in, and are not kept",
        query: "SELECT r.agency, r.id, r.kind AS words FROM record r WHERE r.kind = 'trial_answer' AND NOT r.gone
                AND NOT EXISTS (SELECT 1 FROM trial_sheet t WHERE t.agency = r.agency AND t.answer = r.id)",
        mend: PUT_BACK,
    },
];

#[derive(QueryableByName)]
struct Row {
    #[diesel(sql_type = UidSql)]
    agency: Uid,
    #[diesel(sql_type = UidSql)]
    id: Uid,
    #[diesel(sql_type = Text)]
    words: String,
}

#[derive(QueryableByName)]
struct Number {
    #[diesel(sql_type = BigInt)]
    n: i64,
}

/// What breaks each rule of the tables, in words.
pub fn rules() -> impl Iterator<Item = &'static str> {
    RULES.iter().map(|rule| rule.what)
}

/// Looks whether the tables are to each other what they must be.
pub fn rows(db: &mut Db, report: &mut Report) -> Result<(), Fault> {
    for rule in RULES {
        let query = format!("SELECT * FROM ({}) found LIMIT {MOST}", rule.query);
        let found: Vec<Row> = on!(&mut *db, conn => sql_query(&query).load(conn))?;
        if found.len() == MOST {
            let all = format!("SELECT count(*) AS n FROM ({}) found", rule.query);
            let all: Number = on!(&mut *db, conn => sql_query(&all).get_result(conn))?;
            report.more += usize::try_from(all.n).unwrap_or_default().saturating_sub(MOST);
        }
        report.add(found.into_iter().map(|row| Finding {
            agency: AgencyId(row.agency.0),
            what: rule.what.to_owned(),
            place: format!("{} ({})", row.words, row.id.0),
            mend: rule.mend,
        }));
    }
    Ok(())
}
