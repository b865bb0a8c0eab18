//! One cutter's bad day, from the crew's report to its return, by HTTP alone. Level and reason are read off the board at
//! every step.

use chrono::TimeDelta;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{
    Client, World,
    acts::{id_of, tight},
    in_shop, on_both, on_rig, on_shelf, on_the_way,
};

/// Who and what the story is about.
pub struct Story {
    pub crew: Client,
    pub officer: Client,
    pub shop: Client,
    pub rig: Uuid,
    pub cutter: Uuid,
    pub tag: String,
    pub spare: Uuid,
    pub spare_tag: String,
    pub shelf: Uuid,
    pub workshop: Uuid,
    /// What the board says of the rig while it is full.
    pub aside: Vec<String>,
}

impl Story {
    /// The board must show the level, and beside what it always says exactly these words.
    async fn board_shows(&self, level: &str, words: &[&str]) {
        let line = self.officer.on_board(self.rig).await;
        let said: Vec<&str> = line.words.iter().filter(|words| !self.aside.contains(words)).map(String::as_str).collect();
        assert_eq!((line.level.as_str(), said), (level, words.to_vec()));
    }

    async fn since(&self) -> String {
        self.officer.on_board(self.rig).await.since
    }

    async fn ticket_is(&self, ticket: Uuid, state: &str) {
        assert_eq!(self.shop.find(&format!("/v1/tickets/{ticket}")).await["state"], state);
    }

    async fn cutter_is(&self, state: &str, place: Value) {
        let piece = self.officer.piece(self.cutter).await;
        assert_eq!((piece["state"].as_str(), &piece["place"]), (Some(state), &place), "{piece}");
    }

    async fn fills_a_slot(&self, piece: Uuid) -> bool {
        let capability = self.officer.capability(self.rig).await;
        capability["fillings"]
            .as_array()
            .expect("fillings")
            .iter()
            .any(|filling| filling["piece"] == json!(piece))
    }

    pub async fn told(&self, world: &World) {
        let out = format!("cutter {}: out of service since 2026-11-25 07:10, “blade chipped at the root”", self.tag);
        self.board_shows("full", &[]).await;
        let full_at_first = self.since().await;

        world.pass(TimeDelta::minutes(10));
        let defect = id_of(&self.crew.report(self.cutter, "blade chipped at the root", "out_of_service").await.record());
        self.board_shows("limited", &[&out]).await;
        assert_eq!(self.since().await, "2026-11-25T14:10:00.000000Z");
        self.cutter_is("out_of_service", on_rig(self.rig)).await;

        let rev = self.officer.rev(&format!("/v1/pieces/{}", self.cutter)).await;
        let why = self
            .officer
            .put_back(self.cutter, rev, "looks all right to me")
            .await
            .refused(409, "rule-broken");
        assert!(why["detail"].as_str().unwrap().contains("has an open defect; close it first"), "{why}");
        self.board_shows("limited", &[&out]).await;

        assert_eq!(self.crew.stand_ins(self.rig, "cutter").await.first(), Some(&self.spare_tag));
        world.pass(TimeDelta::minutes(20));
        let swap = id_of(&self.crew.swap(self.rig, self.spare, "cutter").await.record());
        self.board_shows("full", &[]).await;
        assert_eq!(self.since().await, "2026-11-25T14:30:00.000000Z");
        assert!(self.fills_a_slot(self.spare).await && !self.fills_a_slot(self.cutter).await);

        let ticket = self.repaired(defect).await;

        let back = json!({ "to": on_rig(self.rig), "note": "new blade pair" });
        self.shop.step(ticket, "return", back).await.ok();
        self.ticket_is(ticket, "closed").await;
        assert_eq!(self.shop.find(&format!("/v1/defects/{defect}")).await["resolution"], "new blade pair");
        self.cutter_is("in_service", on_the_way(on_rig(self.rig))).await;
        assert!(!self.fills_a_slot(self.cutter).await, "on its way it counts nowhere");
        let told = self.crew.swap(self.rig, self.cutter, "cutter").await.refused(409, "rule-broken");
        assert!(
            told["detail"].as_str().unwrap().contains("is on its way"),
            "on its way it is nobody's stand-in: {told}"
        );
        self.board_shows("full", &[]).await;

        self.crew.arrive(self.cutter).await.ok();
        self.cutter_is("in_service", on_rig(self.rig)).await;
        self.board_shows("full", &[]).await;

        let ended = self.officer.finish_swap(swap, "end").await.record();
        assert_eq!((&ended["state"], &ended["ended_by"]), (&json!("ended"), &self.officer.person.told()));
        // Where it goes back to a station out of the officer's reach, somebody there confirms that it has come.
        let back = match self.officer.person.station {
            Some(_) => on_the_way(on_shelf(self.shelf)),
            None => on_shelf(self.shelf),
        };
        assert_eq!(self.officer.piece(self.spare).await["place"], back);
        assert!(self.fills_a_slot(self.cutter).await);
        self.board_shows("full", &[]).await;
        assert_eq!(self.since().await, "2026-11-25T14:30:00.000000Z", "it has been full since the stand-in came");
        assert_ne!(full_at_first, self.since().await);
        self.history_tells(ticket).await;
    }

    /// The shop's part; answers the ticket, tested.
    async fn repaired(&self, defect: Uuid) -> Uuid {
        let ticket = id_of(&self.officer.open_ticket(self.cutter, self.workshop, "blade chipped", &[defect]).await.record());
        self.ticket_is(ticket, "waiting").await;
        self.shop.step(ticket, "work", json!({})).await.refused(409, "rule-broken");
        self.shop.step(ticket, "accept", json!({ "piece_is_here": true })).await.ok();
        self.ticket_is(ticket, "accepted").await;
        self.cutter_is("out_of_service", in_shop(self.workshop)).await;
        self.board_shows("full", &[]).await;

        self.shop.step(ticket, "work", json!({})).await.ok();
        self.ticket_is(ticket, "working").await;
        self.shop.step(ticket, "return", json!({})).await.refused(409, "rule-broken");
        let silent = self.shop.step(ticket, "test", json!({ "passed": true })).await.refused(422, "field-invalid");
        assert_eq!(silent["field"], "body.note");
        let unmeasured = json!({ "passed": true, "note": "new blade pair" });
        let unmeasured = self.shop.step(ticket, "test", unmeasured).await.refused(409, "evidence-missing");
        assert_eq!(unmeasured["missing"][0]["measure"], "sound_to_look");
        self.ticket_is(ticket, "working").await;
        self.cutter_is("out_of_service", in_shop(self.workshop)).await;

        self.shop
            .step(
                ticket,
                "test",
                json!({ "passed": false, "readings": tight(7200.0), "note": "does not reach its pressure" }),
            )
            .await
            .ok();
        self.shop.step(ticket, "return", json!({})).await.refused(409, "rule-broken");
        self.shop
            .step(ticket, "test", json!({ "passed": true, "readings": tight(10400.0), "note": "new blade pair" }))
            .await
            .ok();
        self.ticket_is(ticket, "tested").await;
        self.cutter_is("out_of_service", in_shop(self.workshop)).await;
        self.board_shows("full", &[]).await;
        ticket
    }

    /// Newest first: who did what to the cutter.
    async fn history_tells(&self, ticket: Uuid) {
        let history = self.officer.find(&format!("/v1/pieces/{}/history", self.cutter)).await;
        let told: Vec<(&str, &str)> = history["items"]
            .as_array()
            .expect("items")
            .iter()
            .take(5)
            .map(|item| (item["kind"].as_str().unwrap(), item["by"]["role"].as_str().unwrap()))
            .collect();
        let expected = [
            ("piece.arrive", "crew"),
            ("ticket.return", "shop"),
            ("ticket.accept", "shop"),
            ("ticket.open", "officer"),
            ("defect.report", "crew"),
        ];
        assert_eq!(told, expected, "{ticket}");
    }
}

on_both!(a_cutter_is_reported_stood_in_for_repaired_and_returned, async |world: &World| {
    let county = world.county();
    let story = Story {
        crew: world.member("crew_1"),
        officer: world.member("officer_1"),
        shop: world.shop(),
        rig: county.engine_1,
        cutter: county.set_1.cutter,
        tag: "E1-CUT".into(),
        spare: county.spare_cutter,
        spare_tag: "R-CUT".into(),
        shelf: county.station_2,
        workshop: county.shop,
        aside: Vec::new(),
    };
    story.told(world).await;
});
