use serde::{Deserialize, Serialize};

/// What kind of thing is wrong. It decides who may say what about the piece, so who does not know says *other*.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum DefectClass {
    /// Cut, blistered, chafed or swollen: a hose body or cover, a cable, a battery's case.
    CutOrBlister,
    /// Fluid or fuel comes out where it should not.
    Leak,
    /// Kinked, or crushed flat.
    Kink,
    /// Bent, dented, cracked, nicked, worn.
    Deformation,
    /// Fell, was run over, or was loaded beyond its rating.
    DropOrOverload,
    /// Was in a fire or in great heat.
    Fire,
    /// Was under water.
    Flood,
    /// Cable, plug, switch, contact, charge.
    Electrical,
    /// Another fluid got in, or may have.
    FluidMix,
    /// Cannot be coupled, opened or closed because pressure is trapped in it.
    StuckUnderPressure,
    /// A handle, lever or switch does not go back by itself when let go.
    ControlDoesNotReturn,
    /// Weak, slow, or at a wrong pressure: the relief opens late or early, nothing or too little comes out.
    Pressure,
    /// Anything else, and what nobody has named yet.
    #[default]
    Other,
}

impl DefectClass {
    /// Every class, in the order of the table.
    pub const ALL: &'static [Self] = &[
        Self::CutOrBlister,
        Self::Leak,
        Self::Kink,
        Self::Deformation,
        Self::DropOrOverload,
        Self::Fire,
        Self::Flood,
        Self::Electrical,
        Self::FluidMix,
        Self::StuckUnderPressure,
        Self::ControlDoesNotReturn,
        Self::Pressure,
        Self::Other,
    ];

    /// As a firefighter says it, inside a sentence: "cut or blistered".
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::CutOrBlister => "cut or blistered",
            Self::Leak => "leaking",
            Self::Kink => "kinked or crushed",
            Self::Deformation => "bent, cracked or worn",
            Self::DropOrOverload => "dropped or overloaded",
            Self::Fire => "after a fire or great heat",
            Self::Flood => "after being under water",
            Self::Electrical => "with an electrical fault",
            Self::FluidMix => "after fluids were mixed",
            Self::StuckUnderPressure => "stuck under pressure",
            Self::ControlDoesNotReturn => "with a control that does not return",
            Self::Pressure => "with the wrong pressure or output",
            Self::Other => "with something else wrong",
        }
    }
}
