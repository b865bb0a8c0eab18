//! Operating cards of some models and of one rig class. The models are invented; what the cards say is common practice, no source.

use crate::{
    Person,
    county::County,
    deeds::Wire,
    people::{ADMIN, COORDINATOR, OFFICER, SHOP},
    tell::{Teller, wire},
};
use anyhow::{Context as _, Result};
use serde_json::{Value, json};
use uuid::Uuid;

/// What a card says; what is left empty says nothing.
#[derive(Debug, Default)]
struct Card {
    of: &'static str,
    replaces: Option<&'static str>,
    stowed: &'static str,
    start: &'static str,
    levers: &'static str,
    controls: &'static str,
    differs: &'static str,
    shut_down: &'static str,
    restow: &'static str,
    care: &'static str,
    cautions: &'static str,
    /// Each with its section and what it shows.
    pictures: &'static [(&'static [u8], &'static str, &'static str)],
}

/// Drawn for the county, as its invented tools would look.
const RING: &[u8] = include_bytes!("../pictures/ring.png");
const VALVES: &[u8] = include_bytes!("../pictures/valves.png");

const HANDLE: &str = "Ring behind the handle, marked with two arrows.\n- turn **left**: opens\n- turn **right**: closes\n- let go: it stops where it is";
const TOOL_CARE: &str =
    "- wipe it, look at tips and blades for nicks\n- open it to the first mark: never put away fully closed\n- caps on both couplings, joined to each other";
const SPENT: &str = "Close to a finger's width. Dump valve open **before** anything is uncoupled.";

fn cards() -> Vec<Card> {
    vec![
        Card {
            of: "Ferrowick Duet",
            stowed: "Left side, first compartment, on the slide. It runs on the slide; it need not be lifted out.",
            start: "1. Both dump valves **open**\n2. Fuel on, stop switch to **run**\n3. Cold: choke out\n4. Pull until it fires, choke in\n5. Hoses on, then close the valve of the side that you use",
            levers: "- two dump valves, one for each side: lever along the hose is **closed**, across is **open**\n- throttle: leave it where the mark is",
            controls: "Both sides run at once, at half speed. One side alone runs at full speed.",
            shut_down: "1. Both dump valves open\n2. Let it run half a minute\n3. Stop switch to **off**\n4. Fuel off",
            restow: "Hoses on their reels without a kink, caps joined, valves open. Slide locked: pull at it.",
            care: "- fuel and fluid to the marks\n- look under it for drops\n- hour meter onto the check",
            pictures: &[(
                VALVES,
                "levers",
                "The two dump valves from above: lever across the hose is open, along the hose is closed",
            )],
            cautions: "Not in a closed bay without the exhaust hose. It stalls where both tools stand at full load: ease off one.",
            ..Card::default()
        },
        Card {
            of: "Ferrowick C-62",
            stowed: "Left side, second compartment, upper shelf, blades to the rear.",
            start: "1. Couple: push until it clicks, then pull at it\n2. Valve on the pump closed\n3. Open and close once in the air",
            controls: HANDLE,
            differs: "- one coupling instead of two: nothing to mix up\n- the ring turns the *other way* from the older twin-line cutters: try it in the air first\n- it cuts slower at first and then fast: do not twist it to help",
            shut_down: SPENT,
            restow: "On its shelf, blades to the rear, strap over the handle.",
            care: TOOL_CARE,
            pictures: &[(RING, "controls", "The ring behind the handle, seen from the back: left opens, right closes")],
            cautions: "At right angles to what is cut. Where it begins to turn, let go of the ring and set it anew.",
            replaces: Some("Marrable M-7"),
            ..Card::default()
        },
        Card {
            of: "Ferrowick S-45",
            stowed: "Left side, second compartment, lower shelf.",
            start: "1. Couple: push until it clicks, then pull at it\n2. Tips locked: pull at both\n3. Open and close once in the air",
            controls: HANDLE,
            shut_down: SPENT,
            restow: "Arms open a hand's width, on its shelf, strap over the body.",
            care: TOOL_CARE,
            cautions: "Full depth of the tips before you spread. Chains only with the pins of the set, both of them seated.",
            ..Card::default()
        },
        Card {
            of: "Ferrowick R-2",
            stowed: "Right side, third compartment, beside the ram support.",
            start: "1. Couple\n2. Support behind **both** ends\n3. Run it out by hand's breadths, one member watches each end",
            controls: HANDLE,
            shut_down: "Run it in, but for a finger's width. Dump valve open before anything is uncoupled.",
            restow: "Beside the ram support, heads turned in.",
            care: TOOL_CARE,
            ..Card::default()
        },
        Card {
            of: "Sparrowhale VC-54",
            stowed: "Right side, first compartment, with one pack in and one on the charger beside it.",
            start: "1. Pack in until it clicks\n2. Button under the handle **two seconds**: the light turns steady\n3. Open and close once in the air",
            levers: "None. There is no valve and no hose.",
            controls: "Rocker under the thumb: up opens, down closes. Let go: it stops. It sleeps after a few minutes; the button wakes it.",
            differs: "- the button has to be *held*; a tap does nothing\n- packs of the 36 do not fit: never force one\n- it is as heavy empty as it is charged: look at the four lights",
            shut_down: "Close to a finger's width, button two seconds until the light is out.",
            restow: "Charged pack in, the other on the charger, its light seen.",
            care: "- wipe it, contacts dry\n- pack below three lights: change it now, not at the next call",
            cautions: "A cold pack gives less: keep the spare one inside the cab in winter.",
            replaces: Some("Sparrowhale VC-36"),
            ..Card::default()
        },
        Card {
            of: "Korvath hand pump",
            stowed: "Behind the officer's seat.",
            start: "1. Valve on the side **shut**, turned right by hand\n2. Couple the hose\n3. Pump with long strokes; the last ones are hard",
            levers: "One valve: right is shut and holds, left lets go.",
            shut_down: "Valve left, slowly, with everybody clear of the load.",
            restow: "Handle down and hooked, valve open.",
            care: "Fluid to the mark, with the handle down.",
            ..Card::default()
        },
        Card {
            of: "Rescue engine",
            stowed: "**Left side**\n- first compartment: pump on its slide, both reels\n- second: cutter above, spreader below\n\n**Right side**\n- first compartment: battery tool, charger\n- third: ram, ram support, chains\n\n**Rear**\n- cribbing, glass tools, edge covers",
            start: "The officer names who runs the pump. Nobody else touches its valves.",
            restow: "Two go round with the list, one reads and one touches. What is missing is said before the doors close.",
            care: "After each job the after-use check of the phone, before the rig says that it is back.",
            cautions: "At the tools' side of the rig nobody walks behind who runs a tool.",
            ..Card::default()
        },
    ]
}

/// What an officer has written for the next cutter, and nobody has approved yet.
fn waiting() -> Card {
    Card {
        of: "Ferrowick C-80",
        start: "1. Couple: push until it clicks, then pull at it\n2. Open and close once in the air",
        controls: HANDLE,
        differs: "- ten pounds more: two members, or a strap\n- opens half an inch wider\n- the ring is the same",
        replaces: Some("Ferrowick C-62"),
        ..Card::default()
    }
}

/// What has an id, by its name.
fn named(county: &County, name: &str) -> Option<Value> {
    let model = county.models.iter().find(|(_, model)| model.name == name);
    let class = county.classes.iter().find(|(_, class)| class.name() == name);
    match (model, class) {
        (Some((id, _)), _) => Some(json!({ "of": "model", "model": id })),
        (None, Some((id, _))) => Some(json!({ "of": "rig_class", "rig_class": id })),
        (None, None) => None,
    }
}

impl Card {
    fn draft(&self, county: &County, id: Uuid, pictures: &[Value]) -> Result<Wire> {
        let subject = named(county, self.of).with_context(|| format!("nothing is called {}", self.of))?;
        let replaces = self.replaces.and_then(|name| named(county, name)?.get("model").cloned());
        let text = json!({
            "stowed": self.stowed, "start": self.start, "levers": self.levers, "controls": self.controls, "differs": self.differs,
            "shut_down": self.shut_down, "restow": self.restow, "care": self.care, "cautions": self.cautions, "replaces": replaces, "pictures": pictures,
        });
        let body = json!({ "id": id, "subject": subject, "from_version": 0, "text": text, "note": "The first one, from the drill yard" });
        Ok(wire("card_draft.add", body))
    }
}

impl Teller {
    /// Sends a card's pictures and its draft; answers the draft's id.
    async fn draft_card(&mut self, county: &County, card: &Card, writer: &'static Person) -> Result<Uuid> {
        let mut pictures = Vec::with_capacity(card.pictures.len());
        for (bytes, section, words) in card.pictures {
            let photo = self.client.put_picture(writer, bytes).await?;
            pictures.push(json!({ "photo": photo, "section": section, "words": words }));
        }
        let id = self.id();
        self.send(writer, vec![card.draft(county, id, &pictures)?]).await?;
        Ok(id)
    }

    /// Writes the cards and has them approved by somebody else; one waits.
    pub async fn write_cards(&mut self, county: &County) -> Result<()> {
        for (n, card) in cards().iter().enumerate() {
            let writer: &'static Person = if n % 2 == 0 { &SHOP } else { &COORDINATOR };
            let id = self.draft_card(county, card, writer).await?;
            let approved = Wire {
                expects: Some(id),
                ..wire("card_draft.approve", json!({ "id": id }))
            };
            let approver: &'static Person = if n % 2 == 0 { &COORDINATOR } else { &ADMIN };
            self.send(approver, vec![approved]).await?;
        }
        self.draft_card(county, &waiting(), &OFFICER).await.map(drop)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::Plan;

    #[test]
    fn every_card_is_about_something_of_the_county_and_replaces_its_own_kind() {
        let county = Plan::of(crate::tests::ends().next().unwrap()).unwrap().county;
        let kind = |name: &str| county.models.iter().find(|(_, model)| model.name == name).map(|(_, model)| model.kind);
        for card in cards().iter().chain([&waiting()]) {
            assert!(named(&county, card.of).is_some(), "{}", card.of);
            if let Some(replaced) = card.replaces {
                assert_eq!(kind(replaced), kind(card.of), "{} replaces {replaced}", card.of);
            }
        }
    }
}
