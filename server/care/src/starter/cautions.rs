//! What is said beside more than one step (CHECKS A5).

pub(super) const NO_HAND: &str = "Look for a leak with a card or a piece of wood, never with a hand. Fluid under the skin hardly hurts at first and is a surgical \
                                  emergency: to hospital at once, say \"high-pressure injection\" and name the fluid.";
pub(super) const CLEAR: &str = "Hands and body out of the way of blades and arms. Face shield, gloves, nobody within 5 m. If the tool turns in your hands, let go of the \
                                control.";
pub(super) const UNDER_LOAD: &str =
    "Only with the maker's test gear, behind a shield, nobody in line with the load. Stop at the first sound or slip. Full face protection.";
pub(super) const DUMP_FIRST: &str =
    "Dump the pressure before you couple or uncouple, unless the coupling is made for it. Relieve trapped pressure only as the maker says.";
pub(super) const EXHAUST: &str = "Run it outdoors or with the exhaust led out. Let it cool before you fill up; no flame, no spilt fuel on hot parts.";
pub(super) const BLOOD: &str = "Gloves on: there may be blood and glass on it. Clean and disinfect it before it goes to the shop.";
pub(super) const PACK: &str = "A pack that is swollen, wet, hot, cracked or was dropped goes outside and is not charged. Only its own charger.";
pub(super) const ONE_FLUID: &str = "Only the fluid on the label. Mineral oil and phosphate ester never mix: after a mix the set is out of service. Eyes covered, wash your \
                                    hands.";
pub(super) const NO_CARRY: &str = "Do not lift or carry a tool by its hose, and do not hold the hose under pressure.";
pub(super) const RATED: &str = "Only rated gear of this set. Stand clear of the line of pull.";
