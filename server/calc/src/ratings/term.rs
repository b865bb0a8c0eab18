//! The terms of the rescue-tool standards.

use crate::units::Dimension;
use serde::{Deserialize, Serialize};

/// Which way is better.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Better {
    /// A larger figure meets a smaller minimum.
    Higher,
    /// A smaller figure meets a larger one: the "minimum" of a slot is then the most it accepts.
    Lower,
}

macro_rules! terms {
    ($($(#[$doc:meta])* $name:ident, $wire:literal, $label:literal, $dim:expr, $better:ident, $tested:literal;)*) => {
        /// A term in which a piece is rated; on the wire in snake case.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
        pub enum Term { $($(#[$doc])* #[serde(rename = $wire)] $name,)* }

        impl Term {
            /// Every term, in a fixed order.
            pub const ALL: &'static [Self] = &[$(Self::$name,)*];

            /// The name on the wire.
            #[must_use]
            pub const fn name(self) -> &'static str {
                match self { $(Self::$name => $wire,)* }
            }

            /// The words for it.
            #[must_use]
            pub const fn label(self) -> &'static str {
                match self { $(Self::$name => $label,)* }
            }

            /// What its unit measures; `None` for the cutting short forms.
            #[must_use]
            pub const fn dimension(self) -> Option<Dimension> {
                match self { $(Self::$name => $dim,)* }
            }

            /// Which way is better.
            #[must_use]
            pub const fn better(self) -> Better {
                match self { $(Self::$name => Better::$better,)* }
            }

            /// Whether the figure comes out of a standard's own test, so that another standard's figure does not answer it.
            #[must_use]
            pub const fn by_test(self) -> bool {
                match self { $(Self::$name => $tested,)* }
            }
        }
    };
}

terms! {
    /// LSF: least of the ten spreading forces (NFPA 1936).
    LowestSpreadingForce, "lowest_spreading_force", "lowest spreading force", Some(Dimension::Force), Higher, true;
    /// HSF: greatest of the ten spreading forces (NFPA 1936).
    HighestSpreadingForce, "highest_spreading_force", "highest spreading force", Some(Dimension::Force), Higher, true;
    /// LPF: least of the ten pulling forces (NFPA 1936).
    LowestPullingForce, "lowest_pulling_force", "lowest pulling force", Some(Dimension::Force), Higher, true;
    /// HPF: greatest of the ten pulling forces (NFPA 1936).
    HighestPullingForce, "highest_pulling_force", "highest pulling force", Some(Dimension::Force), Higher, true;
    /// The force in an EN 13204 spreader designation; not an LSF.
    RatedSpreadingForce, "rated_spreading_force", "rated spreading force", Some(Dimension::Force), Higher, true;
    /// How far the tips open.
    SpreadingDistance, "spreading_distance", "spreading distance", Some(Dimension::Length), Higher, true;
    /// How far the tips pull.
    PullingDistance, "pulling_distance", "pulling distance", Some(Dimension::Length), Higher, true;
    /// Opening between the blade tips.
    CutterOpening, "cutter_opening", "cutter opening", Some(Dimension::Length), Higher, true;
    /// NFPA 1936 level per material, A to E and F.
    CuttingLevels, "cutting_levels", "cutting levels", None, Higher, true;
    /// EN 13204 (to 2016) capacity letter: the worst profile.
    CuttingCapacity, "cutting_capacity", "cutting capacity", None, Higher, true;
    /// Ram, first stage.
    PushForce, "push_force", "push force", Some(Dimension::Force), Higher, true;
    /// Ram, second stage.
    PushForce2, "push_force_2", "push force of the second stage", Some(Dimension::Force), Higher, true;
    /// Ram, third stage.
    PushForce3, "push_force_3", "push force of the third stage", Some(Dimension::Force), Higher, true;
    /// How many stages a ram has. Not stated: unknown.
    RamStages, "ram_stages", "number of stages", Some(Dimension::Count), Higher, false;
    /// Ram.
    PullForce, "pull_force", "pull force", Some(Dimension::Force), Higher, true;
    /// Ram, closed: shorter fits more gaps.
    RetractedLength, "retracted_length", "retracted length", Some(Dimension::Length), Lower, false;
    /// Ram, fully out.
    ExtendedLength, "extended_length", "extended length", Some(Dimension::Length), Higher, false;
    /// Ram: the way it pushes.
    Stroke, "stroke", "stroke", Some(Dimension::Length), Higher, false;
    /// What a person has to hold: less is better.
    Mass, "mass", "mass", Some(Dimension::Mass), Lower, false;
    /// Usable length of a hose.
    HoseLength, "hose_length", "hose length", Some(Dimension::Length), Higher, false;
    /// Time on one tank or one charge.
    RunTime, "run_time", "run time", Some(Dimension::Time), Higher, false;
    /// Tank content that can be used.
    TankVolume, "tank_volume", "usable tank volume", Some(Dimension::Volume), Higher, false;
    /// Output of a source per circuit.
    Flow, "flow", "flow", Some(Dimension::Flow), Higher, false;
    /// Drive of a source.
    Power, "power", "power", Some(Dimension::Power), Higher, false;
    /// Opening of a tool's mouth in depth (EN 13204: at least 75 % of the opening).
    MouthDepth, "mouth_depth", "mouth depth", Some(Dimension::Length), Higher, false;
}

impl Term {
    /// The term of that name on the wire.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|term| term.name() == name)
    }

    /// How its figure is written.
    #[must_use]
    pub const fn shape(self) -> &'static str {
        match self {
            Self::CuttingLevels => "write the levels, for example A8/B9/C8/D9/E9",
            Self::CuttingCapacity => "write one letter from A to K",
            Self::RamStages => "write 1, 2 or 3",
            _ => "write a number with a unit",
        }
    }
}
