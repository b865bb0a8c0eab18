//! What each file of a slice is for and may name, and the ranks of the platform.

/// What a file of a slice is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// What the noun is, and the few names that others may use.
    Front,
    /// The record as it goes over the wire, and what it is found by.
    Record,
    /// Commands, or a part of them: load, decide, save.
    Commands,
    /// Decisions and reckoning on plain values.
    Rules,
    /// The slice's own queries.
    Rows,
    /// Addresses.
    Addresses,
    /// What an answer is made of: reads, and writes nothing.
    Readings,
    /// What goes on beside requests, or over one connection for long.
    Background,
}

/// The role of a file in a slice. A name that is not here is a decision: what it is for, and what it may name.
pub fn role(file: &str) -> Option<Role> {
    Some(match file {
        "mod.rs" => Role::Front,
        // The second is what a record holds many of; a schema is what the document says of its lists in lists.
        "feed.rs" | "entries.rs" | "marks.rs" | "notes.rs" | "rig.rs" | "schema.rs" => Role::Record,
        // The second line: what other slices may do to the record inside a command of theirs, and what commands look up.
        "ops.rs" | "acts.rs" | "editing.rs" | "exchange.rs" | "refill.rs" | "remodel.rs" | "retire.rs" | "testing.rs" | "trying.rs" | "undo.rs"
        | "change_over.rs" | "clearing.rs" | "condition.rs" | "confirmed.rs" | "watch.rs" | "fit.rs" | "fluids.rs" | "load.rs" | "mixed.rs" | "place.rs"
        | "signing.rs" => Role::Commands,
        "rules.rs" | "rules_tests.rs" | "bounds.rs" | "calendar.rs" | "cipher.rs" | "counts.rs" | "dates.rs" | "day.rs" | "days.rs" | "donors.rs"
        | "due.rs" | "family.rs" | "kin.rs" | "lives.rs" | "letter.rs" | "message.rs" | "months.rs" | "name.rs" | "names.rs" | "period.rs" | "picture.rs"
        | "reading.rs" | "shift.rs" | "sites.rs" | "sizing.rs" | "stages.rs" | "stand_ins.rs" | "tiles.rs" | "times.rs" | "unset.rs" | "waits.rs" => {
            Role::Rules
        }
        "rows.rs" => Role::Rows,
        "api.rs" | "entry.rs" | "factor.rs" | "passkey.rs" | "passkeys.rs" | "proof.rs" => Role::Addresses,
        "view.rs" | "audit.rs" | "county.rs" | "export.rs" | "facts.rs" | "fleet.rs" | "groups.rs" | "minimum.rs" | "remedies.rs" | "sets.rs" | "told.rs" => {
            Role::Readings
        }
        "clock.rs" | "limits.rs" | "line.rs" | "mail.rs" | "outward.rs" | "progress.rs" | "store.rs" | "work.rs" => Role::Background,
        _ => return None,
    })
}

/// What a file of a role may not name, by first word of a path or by module.
pub fn forbidden(role: Role) -> &'static [&'static str] {
    match role {
        Role::Rules => &["diesel", "actix_web", "ops", "rows", "clock"],
        Role::Commands => &["diesel", "actix_web", "api", "view"],
        Role::Addresses => &["diesel", "rows"],
        Role::Rows => &["actix_web", "ops", "api", "view"],
        Role::Record => &["diesel", "actix_web", "ops", "rows", "api", "view"],
        Role::Readings => &["diesel", "actix_web", "Write"],
        Role::Background => &["diesel"],
        Role::Front => &[],
    }
}

/// The rank of a module of the platform: it names those of its own rank and below.
pub fn platform_rank(module: &str) -> Option<usize> {
    let ranks: [&[&str]; 7] = [
        &[
            "canonical",
            "clock",
            "error",
            "hex",
            "histogram",
            "ids",
            "patch",
            "line",
            "outward",
            "rates",
            "said",
            "serde_words",
            "stop_signals",
            "tasks",
            "tls",
            "traces",
            "turns",
        ],
        &["body", "db", "person"],
        &["bodies", "record"],
        &["follow", "listing", "past"],
        &["auth"],
        &["door"],
        &["audit", "backup", "http"],
    ];
    ranks.iter().position(|rank| rank.contains(&module))
}
