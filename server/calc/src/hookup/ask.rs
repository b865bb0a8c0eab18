//! Lines asked from outside: plain lists in, plain lists out.

use super::at_once::{AtOnce, Way};
use super::line::Line;
use super::lines::{LineRules, Lines, Part, each_outlet};
use super::why_not::Obstacle;
use crate::ratings::Kind;
use crate::sets::{self, Set};

/// An outlet kind that drives a tool.
#[derive(Debug, Clone, PartialEq)]
pub struct Driven {
    /// The tool, by its place in the list.
    pub tool: usize,
    /// Power unit or hand pump.
    pub drive: Kind,
    /// Operating pressure of the outlet in kPa.
    pub kpa: f64,
    /// Whether the tool is at its rated pressure.
    pub at_rated: bool,
    /// The longest line in mm; 0 when no length is known.
    pub longest_mm: f64,
    /// The line of the fewest parts, then of the lowest numbers.
    pub line: Line,
}

/// What is asked of the lines of one tool.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Demand {
    /// The tool, by its place in the list.
    pub tool: usize,
    /// Whether a power unit may drive it.
    pub power_unit: bool,
    /// Whether a hand pump may.
    pub hand_pump: bool,
    /// Whether it may run below its rated pressure.
    pub below_rated: bool,
    /// The least length of hose in mm; 0: any, also unknown.
    pub least_mm: f64,
    /// Whether a matching pack in the list may drive it.
    pub pack: bool,
    /// Whether it has a pack of its own.
    pub own_pack: bool,
}

impl Demand {
    /// Any drive at rated pressure, any length.
    #[must_use]
    pub const fn any(tool: usize) -> Self {
        Self {
            tool,
            power_unit: true,
            hand_pump: true,
            below_rated: false,
            least_mm: 0.0,
            pack: true,
            own_pack: false,
        }
    }
}

/// Every outlet kind that drives a tool through some line, by tool, then in the order in which the outlets are listed.
/// At most 128 pieces are looked at.
#[must_use]
pub fn lines_that_drive(parts: &[Part<'_>], rules: &LineRules<'_>) -> Vec<Driven> {
    let lines = Lines::new(parts, rules);
    let reach = lines.reach(Set::MAX);
    let mut all = Vec::new();
    for tool in sets::each(lines.tools) {
        for outlet in each_outlet(reach.rated(tool) | reach.below(tool)) {
            let (Some(kind), Some(line)) = (lines.outlets().get(outlet), lines.line(tool, outlet, Set::MAX, 0.0, 0)) else {
                continue;
            };
            all.push(Driven {
                tool,
                drive: kind.drive,
                kpa: kind.kpa,
                at_rated: reach.rated(tool) & (1 << outlet) != 0,
                longest_mm: lines.longest_mm(&reach, tool, outlet),
                line,
            });
        }
    }
    all
}

/// The line that would be laid to meet a demand, from the first outlet kind that has one; `None` when there is none.
/// Pieces in `used` are avoided where that can be.
#[must_use]
pub fn line_to(parts: &[Part<'_>], rules: &LineRules<'_>, demand: &Demand, used: &[usize]) -> Option<Line> {
    let lines = Lines::new(parts, rules);
    let used = used.iter().fold(0, |set, i| set | sets::one(*i));
    each_outlet(outlets_for(&lines, demand)).find_map(|outlet| lines.line(demand.tool, outlet, Set::MAX, demand.least_mm, used))
}

/// Sources, hoses and adapters that have a place in some line, lowest first.
#[must_use]
pub fn pieces_served(parts: &[Part<'_>], rules: &LineRules<'_>) -> Vec<usize> {
    sets::each(Lines::new(parts, rules).reach(Set::MAX).served()).collect()
}

/// The largest number of tools that run at once; the first demand for a tool counts. At most 128 pieces are looked at.
#[must_use]
pub fn simultaneous_tools(parts: &[Part<'_>], rules: &LineRules<'_>, demands: &[Demand]) -> AtOnce {
    let lines = Lines::new(parts, rules);
    let ways: Vec<Way> = demands
        .iter()
        .map(|demand| Way {
            tool: demand.tool,
            outlets: outlets_for(&lines, demand),
            least_mm: demand.least_mm,
            pack: demand.pack,
            own_pack: demand.own_pack,
        })
        .collect();
    lines.at_once(Set::MAX, &ways)
}

/// Why no line of at least `least_mm` drives a tool at its rated pressure; empty when one does.
#[must_use]
pub fn obstacles(parts: &[Part<'_>], rules: &LineRules<'_>, tool: usize, least_mm: f64) -> Vec<Obstacle> {
    Lines::new(parts, rules).why_not(tool, Set::MAX, least_mm, parts, rules)
}

fn outlets_for(lines: &Lines, demand: &Demand) -> u32 {
    let tool = lines.piece(demand.tool);
    let pressures = if demand.below_rated { tool.stands } else { tool.rated };
    let allowed = |drive: Kind| if drive == Kind::HandPump { demand.hand_pump } else { demand.power_unit };
    let drives = lines.outlets().iter().enumerate().filter(|(_, o)| allowed(o.drive));
    pressures & drives.fold(0, |mask, (o, _)| mask | 1_u32 << o)
}
