//! The tables of `migrations/`, as diesel sees them. A test compares both databases with these columns.

diesel::table! {
    use diesel::sql_types::*;
    use crate::platform::db::types::*;
    agency (id) { id -> UidSql, rev -> BigInt, journal_head -> Binary, created_at -> MomentSql, horizon -> BigInt, }
}

diesel::table! {
    use diesel::sql_types::*;
    use crate::platform::db::types::*;
    record (agency, kind, id) {
        agency -> UidSql,
        kind -> Text,
        id -> UidSql,
        rev -> BigInt,
        gone -> Bool,
        label -> Text,
        uniq -> Nullable<Text>,
        mark -> Nullable<Text>,
        state -> Text,
        parent -> Nullable<UidSql>,
        district -> Nullable<UidSql>,
        station -> Nullable<UidSql>,
        rig -> Nullable<UidSql>,
        shop -> Nullable<UidSql>,
        home_district -> Nullable<UidSql>,
        home_station -> Nullable<UidSql>,
        home_rig -> Nullable<UidSql>,
        renamed -> Nullable<BigInt>,
        body -> DocSql,
    }
}

diesel::table! {
    use diesel::sql_types::*;
    use crate::platform::db::types::*;
    departure (agency, place, rev, kind, id) { agency -> UidSql, place -> UidSql, rev -> BigInt, kind -> Text, id -> UidSql, level -> Text, }
}

diesel::table! {
    use diesel::sql_types::*;
    use crate::platform::db::types::*;
    replaced (agency, kind, id, rev) {
        agency -> UidSql,
        rev -> BigInt,
        kind -> Text,
        id -> UidSql,
        gone -> Bool,
        district -> Nullable<UidSql>,
        station -> Nullable<UidSql>,
        rig -> Nullable<UidSql>,
        body -> DocSql,
    }
}

diesel::table! {
    use diesel::sql_types::*;
    use crate::platform::db::types::*;
    /// Every state that every record has or has had: a view, only to be read.
    state (agency, kind, id, rev) {
        agency -> UidSql,
        rev -> BigInt,
        kind -> Text,
        id -> UidSql,
        gone -> Bool,
        district -> Nullable<UidSql>,
        station -> Nullable<UidSql>,
        rig -> Nullable<UidSql>,
        body -> DocSql,
    }
}

diesel::table! {
    use diesel::sql_types::*;
    use crate::platform::db::types::*;
    journal (agency, rev) {
        agency -> UidSql,
        rev -> BigInt,
        command -> UidSql,
        kind -> Text,
        actor -> Nullable<UidSql>,
        actor_name -> Text,
        actor_role -> Text,
        at_raw -> MomentSql,
        at -> MomentSql,
        received_at -> MomentSql,
        skew_us -> BigInt,
        body -> DocSql,
        device -> Nullable<UidSql>,
        record_kind -> Nullable<Text>,
        record -> Nullable<UidSql>,
        hash -> Binary,
    }
}

diesel::table! {
    use diesel::sql_types::*;
    use crate::platform::db::types::*;
    standing (agency, rig, from_rev) {
        agency -> UidSql,
        rig -> UidSql,
        from_rev -> BigInt,
        from_at -> MomentSql,
        until_at -> Nullable<MomentSql>,
        level -> Text,
        holds_until -> Nullable<MomentSql>,
        planned -> Bool,
        rule -> BigInt,
    }
}

diesel::table! {
    use diesel::sql_types::*;
    use crate::platform::db::types::*;
    lapse (agency, kind, id) {
        agency -> UidSql,
        kind -> Text,
        id -> UidSql,
        at -> MomentSql,
        try_at -> MomentSql,
        tries -> BigInt,
        pending -> Bool,
    }
}

diesel::table! {
    use diesel::sql_types::*;
    use crate::platform::db::types::*;
    credential (agency, member) { agency -> UidSql, member -> UidSql, email -> Text, password_hash -> Text, }
}

diesel::table! {
    use diesel::sql_types::*;
    use crate::platform::db::types::*;
    refresh_token (token_hash) {
        token_hash -> Binary,
        family -> UidSql,
        agency -> UidSql,
        member -> Nullable<UidSql>,
        device -> Nullable<UidSql>,
        issued_at -> MomentSql,
        expires_at -> MomentSql,
        spent_at -> Nullable<MomentSql>,
        next_salt -> Nullable<Binary>,
        ended_at -> Nullable<MomentSql>,
        revoked -> Bool,
    }
}

diesel::table! {
    use diesel::sql_types::*;
    use crate::platform::db::types::*;
    enrolment (agency, id) {
        agency -> UidSql,
        id -> UidSql,
        code_hash -> Binary,
        member -> UidSql,
        sign_in -> UidSql,
        station -> Nullable<UidSql>,
        expires_at -> MomentSql,
        used_at -> Nullable<MomentSql>,
    }
}

diesel::table! {
    use diesel::sql_types::*;
    use crate::platform::db::types::*;
    pin (agency, member) {
        agency -> UidSql,
        member -> UidSql,
        salt -> Binary,
        iterations -> BigInt,
        secret -> Binary,
        former -> Binary,
        wrong -> Binary,
    }
}

diesel::table! {
    use diesel::sql_types::*;
    use crate::platform::db::types::*;
    signing_key (kid) { kid -> Text, created_at -> MomentSql, secret_pem -> Text, public_key -> Text, }
}

diesel::allow_tables_to_appear_in_same_query!(departure, journal, lapse, record, replaced, standing, state);
diesel::table! {
    use diesel::sql_types::*;
    use crate::platform::db::types::*;
    photo (agency, sha256) {
        agency -> UidSql,
        sha256 -> Text,
        bytes -> BigInt,
        kept_bytes -> BigInt,
        media -> Text,
        width -> BigInt,
        height -> BigInt,
        member -> Nullable<UidSql>,
        stored_at -> MomentSql,
        kept_hash -> Nullable<Text>,
    }
}

diesel::table! {
    use diesel::sql_types::*;
    use crate::platform::db::types::*;
    photo_part (agency, sha256, start) {
        agency -> UidSql,
        sha256 -> Text,
        start -> BigInt,
        size -> BigInt,
        total -> BigInt,
        bytes -> Binary,
        sent_at -> MomentSql,
    }
}

diesel::table! {
    use diesel::sql_types::*;
    use crate::platform::db::types::*;
    piece_run (agency, piece, at, source) {
        agency -> UidSql,
        piece -> UidSql,
        at -> MomentSql,
        source -> UidSql,
        meter -> Bool,
        minutes -> Nullable<BigInt>,
    }
}

diesel::table! {
    use diesel::sql_types::*;
    use crate::platform::db::types::*;
    trial_sheet (agency, answer) { agency -> UidSql, answer -> UidSql, trial -> UidSql, body -> DocSql, }
}

diesel::table! {
    use diesel::sql_types::*;
    use crate::platform::db::types::*;
    calendar_secret (agency, feed) { agency -> UidSql, feed -> UidSql, hash -> Binary, }
}

diesel::table! {
    use diesel::sql_types::*;
    use crate::platform::db::types::*;
    receiver_secret (agency, receiver) { agency -> UidSql, receiver -> UidSql, secret -> Binary, }
}

diesel::table! {
    use diesel::sql_types::*;
    use crate::platform::db::types::*;
    telling (agency, alert, receiver) {
        agency -> UidSql,
        alert -> UidSql,
        receiver -> UidSql,
        code -> Text,
        made_at -> MomentSql,
        began_at -> MomentSql,
        due_at -> Nullable<MomentSql>,
        tries -> BigInt,
        leased_until -> MomentSql,
    }
}

diesel::table! {
    use diesel::sql_types::*;
    use crate::platform::db::types::*;
    sign_in (agency, id) {
        agency -> UidSql,
        id -> UidSql,
        member -> Nullable<UidSql>,
        device -> Nullable<UidSql>,
        began_at -> MomentSql,
        seen_at -> MomentSql,
        network -> Nullable<Text>,
        program -> Nullable<Text>,
        proven_at -> Nullable<MomentSql>,
    }
}

diesel::table! {
    use diesel::sql_types::*;
    use crate::platform::db::types::*;
    access_link (agency, member) {
        agency -> UidSql,
        member -> UidSql,
        found_by -> Binary,
        hash -> Binary,
        maker -> UidSql,
        invites -> Bool,
        expires_at -> MomentSql,
    }
}

diesel::table! {
    use diesel::sql_types::*;
    use crate::platform::db::types::*;
    second_factor (agency, member) {
        agency -> UidSql,
        member -> UidSql,
        secret -> Binary,
        on_at -> Nullable<MomentSql>,
        last_step -> BigInt,
        failures -> BigInt,
        free_at -> MomentSql,
    }
}

diesel::table! {
    use diesel::sql_types::*;
    use crate::platform::db::types::*;
    recovery_code (agency, member, hash) { agency -> UidSql, member -> UidSql, hash -> Binary, }
}

diesel::table! {
    use diesel::sql_types::*;
    use crate::platform::db::types::*;
    passkey (agency, id) {
        agency -> UidSql,
        id -> UidSql,
        member -> UidSql,
        credential -> Binary,
        public_key -> Binary,
        counter -> BigInt,
        name -> Text,
        made_at -> MomentSql,
        used_at -> Nullable<MomentSql>,
    }
}

diesel::table! {
    use diesel::sql_types::*;
    use crate::platform::db::types::*;
    passkey_answered (agency, challenge) { agency -> UidSql, challenge -> Binary, until -> MomentSql, }
}

diesel::table! {
    use diesel::sql_types::*;
    use crate::platform::db::types::*;
    push_subscription (agency, id) {
        agency -> UidSql,
        id -> UidSql,
        member -> UidSql,
        sign_in -> UidSql,
        endpoint -> Text,
        p256dh -> Binary,
        auth -> Binary,
        name -> Text,
        changes -> Text,
        made_at -> MomentSql,
    }
}

diesel::table! {
    use diesel::sql_types::*;
    use crate::platform::db::types::*;
    push_key (kid) { kid -> Text, created_at -> MomentSql, secret_pem -> Text, public_key -> Text, }
}

diesel::table! {
    use diesel::sql_types::*;
    use crate::platform::db::types::*;
    access_event (agency, id) {
        agency -> UidSql,
        id -> UidSql,
        at -> MomentSql,
        what -> Text,
        member -> Nullable<UidSql>,
        actor -> Nullable<UidSql>,
        actor_name -> Nullable<Text>,
        network -> Nullable<Text>,
        program -> Nullable<Text>,
    }
}

diesel::table! {
    use diesel::sql_types::*;
    use crate::platform::db::types::*;
    api_key_secret (agency, api_key) {
        agency -> UidSql,
        api_key -> UidSql,
        found_by -> Binary,
        hash -> Binary,
        maker -> UidSql,
        name -> Text,
        role -> Text,
        kinds -> Nullable<Text>,
        district -> Nullable<UidSql>,
        station -> Nullable<UidSql>,
        expires_at -> MomentSql,
    }
}
