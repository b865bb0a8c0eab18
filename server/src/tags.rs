//! The tags of the OpenAPI document, in the order in which a reader wants them.

/// Each tag with a sentence.
pub const TAGS: &[(&str, &str)] = &[
    (
        "session",
        "Signing in and out, who is signed in, and the own account: password, second factor, sign-ins.",
    ),
    ("founding", "The first agency of an installation, and its admin."),
    (
        "sync",
        "Commands in batches, the feed of changes and the live stream: all that a client needs that works without a signal. \
             `openapi/sync.md` tells the protocol.",
    ),
    ("effects", "What commands would do to the answers about rigs and pieces, before they are sent."),
    ("board", "Rigs by level in each district, now and then."),
    (
        "rig-standings",
        "The computed answer about each rig: its level, whether its list is complete, whether it is confirmed, and why.",
    ),
    ("piece-standings", "The computed answer about each piece: may it be used, and why not."),
    (
        "alerts",
        "Changes of a rig's level and of whether a district has enough full rigs: who outside was told, by what way, when, and who acknowledged it.",
    ),
    ("receivers", "Who outside the service is told of such changes."),
    ("pieces", "Every tracked piece with its tag: where it is, its state, its dates."),
    (
        "defects",
        "What is wrong with a piece, who may say that it can still be used, and what its return takes.",
    ),
    ("defect-notes", "What was seen of an open defect again."),
    (
        "checks",
        "What was asked of a piece, what was answered, and what that shows: the latest of each plan, with its history.",
    ),
    (
        "calendar-feeds",
        "Due checks as a calendar that a phone subscribes to, at an address that can be revoked.",
    ),
    ("mishaps", "Near misses and injuries with a tool, and what else the safety officer looks at."),
    ("notices", "Safety notices: which pieces they are about, and what became of each."),
    ("notice-readings", "Which shift of which station has read a safety notice."),
    (
        "field-trials",
        "Candidate tools tried before they are bought: what is asked and measured, and what it comes to.",
    ),
    ("trial-answers", "That an evaluator of a field trial has handed in; not what was answered."),
    ("trial-readings", "What was weighed, timed and measured in a field trial."),
    (
        "check-plans",
        "What is asked of which pieces, how often, and who signs; with plans to begin with.",
    ),
    ("crews", "Who is on which rig, until when, and what nobody aboard is signed off on."),
    ("uses", "When pieces were used, and the check after it."),
    ("swaps", "Stand-ins: put aboard, ended, or made permanent."),
    ("swap-plan", "Which pieces to move so that full rigs reach the most demand."),
    ("tickets", "Repair tickets in the shop, and the order in which to take them."),
    (
        "photos",
        "Photos of defects and pictures of operating cards, named by what their bytes hash to.",
    ),
    ("rigs", "The vehicles that carry tools."),
    (
        "rig-classes",
        "What the rigs of a class must carry, and which grade they are expected to reach.",
    ),
    ("tool-sets", "Pieces that are issued together."),
    ("models", "The catalogue: kind, ratings and couplings of a piece."),
    (
        "operating-cards",
        "How a model is run and what a rig class carries where: the version that counts, approved by a named person, with its history.",
    ),
    ("card-drafts", "Versions of operating cards that nobody has approved yet."),
    ("couplings", "Coupling families and what mates with what."),
    ("stations", "Fire houses."),
    ("districts", "Groups of stations under one chief."),
    ("shops", "Where pieces are repaired."),
    ("agency", "What the agency decides: its policy, its grades, its release rules."),
    ("agencies", "The agency's record and its history."),
    ("grade-templates", "Grades to begin from, each with its source."),
    ("members", "The people of the agency, with role and reach."),
    ("invitations", "Members who set their own password by a link."),
    ("api-keys", "Keys by which programs read and send commands."),
    ("pin", "The PIN with which a member signs on a shared tablet."),
    ("devices", "Phones and shared tablets that are enrolled."),
    ("imports", "The register as a spreadsheet: read in, undone, written out."),
    ("demand", "Demand zones, travel times and the target that coverage is measured by."),
    ("coverage", "Which demand full rigs reach in time, and where reserve sets would bring most."),
    ("availability", "Shares of time at each level."),
    ("reliability", "How often pieces fail, and how long they are away."),
    ("reserves", "How many spares to keep."),
    ("service-plans", "When each set goes to annual service without stripping a district."),
];
