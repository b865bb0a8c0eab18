//! A desk that is told by e-mail: a relay that speaks SMTP (RFC 5321), takes mail, puts it off, refuses it, or is not there.

use std::{
    io::{BufRead as _, BufReader, Write as _},
    net::{TcpListener, TcpStream},
    sync::{Arc, Mutex},
    thread,
};

use chrono::TimeDelta;
use fullset::{
    app::Settings,
    slices::{alerts::Mailer, receivers::Outward},
};
use serde_json::{Value, json};
use uuid::Uuid;

use super::kit::{RIGS, told};
use crate::world::{Client, Server, World, acts::id_of, on_both, soon};

/// A relay that answers each message as it is told to, and keeps what it took.
struct Relay {
    port: u16,
    /// What it answers to the message itself.
    answer: Arc<Mutex<&'static str>>,
    /// To whom, and the message.
    taken: Arc<Mutex<Vec<(String, String)>>>,
}

const TAKES: &str = "250 2.0.0 Ok: queued";
const LATER: &str = "451 4.3.0 Try again later";
const NEVER: &str = "550 5.1.1 No such mailbox";

impl Relay {
    fn open(answer: &'static str) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let relay = Self {
            port: listener.local_addr().unwrap().port(),
            answer: Arc::new(Mutex::new(answer)),
            taken: Arc::default(),
        };
        let (answer, taken) = (Arc::clone(&relay.answer), Arc::clone(&relay.taken));
        // It ends with the process: nothing waits for it.
        thread::spawn(move || {
            for stream in listener.incoming().map_while(Result::ok) {
                let (answer, taken) = (Arc::clone(&answer), Arc::clone(&taken));
                thread::spawn(move || serve(&stream, &answer, &taken));
            }
        });
        relay
    }

    fn answers(&self, answer: &'static str) {
        *self.answer.lock().unwrap() = answer;
    }

    fn taken(&self) -> Vec<(String, String)> {
        self.taken.lock().unwrap().clone()
    }
}

/// One connection, as RFC 5321 has it.
fn serve(stream: &TcpStream, answer: &Mutex<&'static str>, taken: &Mutex<Vec<(String, String)>>) -> Option<()> {
    let mut out = stream.try_clone().ok()?;
    let mut say = |line: &str| out.write_all(format!("{line}\r\n").as_bytes()).ok();
    let mut lines = BufReader::new(stream).lines().map_while(Result::ok);
    let mut to = String::new();
    say("220 relay.example ESMTP")?;
    while let Some(line) = lines.next() {
        match line.split([' ', ':']).next().unwrap_or_default().to_ascii_uppercase().as_str() {
            "EHLO" | "HELO" | "MAIL" | "RSET" => say("250 Ok")?,
            "RCPT" => {
                to = line;
                say("250 Ok")?;
            }
            "DATA" => {
                say("354 Go on")?;
                let text: Vec<String> = lines.by_ref().take_while(|line| line != ".").collect();
                let said = *answer.lock().unwrap();
                if said == TAKES {
                    taken.lock().unwrap().push((to.clone(), text.join("\n")));
                }
                say(said)?;
            }
            "QUIT" => {
                say("221 Bye")?;
                return None;
            }
            _ => say("502 Not here")?,
        }
    }
    Some(())
}

/// A service beside the world's own that hands in mail at a relay.
async fn service(world: &World, port: u16) -> Server {
    let mailer = Mailer {
        relay: format!("smtp://127.0.0.1:{port}").parse().unwrap(),
        from: "Fullset <fullset@agency.example>".parse().unwrap(),
    };
    let with = |settings| Settings {
        outward: Outward::Public,
        mailer: Some(mailer),
        ..settings
    };
    Server::with(&world.location, &world.clock, with).await
}

fn desk(id: Uuid) -> Value {
    json!({ "id": id, "name": "Desk by mail", "way": "email", "address": " desk@dispatch.example ", "changes": RIGS })
}

async fn add(world: &World, server: &Server) -> Uuid {
    let id = Uuid::now_v7();
    world
        .member_at(server, world.agency(), "coordinator")
        .post("/v1/receivers", desk(id))
        .await
        .ok();
    id
}

/// The alert of the rig that fell.
async fn falls(world: &World, crew: &Client) -> String {
    crew.take_out(world.county().set_1.ram, "bent by J. Miller").await.ok();
    id_of(&crew.list("/v1/alerts").await[0]).to_string()
}

on_both!(
    a_desk_gets_one_mail_without_anybodys_words_and_says_by_its_link_that_it_was_read,
    async |world: &World| {
        let relay = Relay::open(TAKES);
        let server = service(world, relay.port).await;
        let id = add(world, &server).await;
        let crew = world.crew();
        let alert = falls(world, &crew).await;
        let handed = told(&crew, &alert, id, "taken").await;
        assert_eq!((&handed["way"], &handed["acknowledged"]), (&json!("email"), &Value::Null), "taken is not read");
        let taken = relay.taken();
        let [(to, mail)] = taken.as_slice() else {
            panic!("{taken:?}");
        };
        assert!(to.contains("<desk@dispatch.example>"), "{to}");
        assert!(!mail.contains("Miller") && !mail.contains("Crew"), "{mail}");
        let (head, text) = mail.split_once("\n\n").unwrap();
        // A long line is broken for the way (quoted-printable, RFC 2045, 6.7) and is whole again at the desk.
        let text = text.replace("=\n", "").replace("=3D", "=");
        assert!(
            head.contains("Subject: Engine 1: limited") && head.contains("Auto-Submitted: auto-generated"),
            "{head}"
        );
        assert!(
            text.starts_with("Engine 1: limited. Before: full.") && text.contains("Missing, or not to be used: Ram."),
            "{text}"
        );
        let (_, rest) = text.split_once("/acknowledge#").unwrap();
        let code = rest.split_whitespace().next().unwrap();
        // Whatever opens the link for its reader, as scanners of mail do, acknowledges nothing.
        let page = world.http.get(format!("{}/acknowledge", server.base)).send().await.unwrap();
        assert!(page.status().is_success());
        assert_eq!(told(&crew, &alert, id, "taken").await["acknowledged"], Value::Null);
        let said = world.http.post(format!("{}/v1/acknowledgements", server.base));
        let said = said.json(&json!({ "code": code, "by": "Desk 3" })).send().await.unwrap();
        assert!(said.status().is_success(), "{said:?}");
        let known = told(&crew, &alert, id, "taken").await;
        assert_eq!(
            (&known["acknowledged"]["by"]["name"], &known["acknowledged"]["through"]),
            (&json!("Desk 3"), &json!("code"))
        );
        server.stop().await;
    }
);

on_both!(
    mail_that_is_put_off_comes_once_later_and_mail_that_is_refused_is_given_up_and_said,
    async |world: &World| {
        let relay = Relay::open(LATER);
        let server = service(world, relay.port).await;
        let id = add(world, &server).await;
        let crew = world.crew();
        let alert = falls(world, &crew).await;
        let failing = told(&crew, &alert, id, "failing").await;
        let problem = failing["problem"].as_str().unwrap();
        assert!(problem.starts_with("The mail relay did not take it: "), "{problem}");
        assert!(relay.taken().is_empty());
        relay.answers(TAKES);
        world.pass(TimeDelta::minutes(10));
        told(&crew, &alert, id, "taken").await;
        assert_eq!(relay.taken().len(), 1);
        // What a relay refuses for good is not tried all day, and nobody is told that it came.
        relay.answers(NEVER);
        let ram = world.county().set_1.ram;
        let rev = crew.rev(&format!("/v1/pieces/{ram}")).await;
        world.shop().put_back(ram, rev, "straightened").await.ok();
        let risen = soon("the rig rose", async || {
            let all = crew.list("/v1/alerts").await;
            all.into_iter().find(|alert| alert["change"] == "rig_rises")
        })
        .await;
        let refused = told(&crew, id_of(&risen).to_string().as_str(), id, "given_up").await;
        let problem = refused["problem"].as_str().unwrap();
        assert!(
            problem.starts_with("The mail relay refused it for good: ") && problem.contains("No such mailbox"),
            "{problem}"
        );
        server.stop().await;
    }
);

on_both!(without_a_relay_nobody_is_told_by_mail_and_it_is_said_how_to_get_one, async |world: &World| {
    let coordinator = world.coordinator();
    let refused = coordinator.post("/v1/receivers", desk(Uuid::now_v7())).await;
    let problem = refused.refused(422, "field-invalid");
    assert!(problem["detail"].to_string().contains("sends no e-mail yet"), "{problem}");
    assert_eq!(coordinator.find("/v1/session").await["sends_email"], json!(false));
    // And one that was added where there is a relay waits, and says why, where there is none.
    let relay = Relay::open(TAKES);
    let server = service(world, relay.port).await;
    let wrong = |change: &dyn Fn(&mut Value)| {
        let mut body = desk(Uuid::now_v7());
        change(&mut body);
        body
    };
    let at = world.member_at(&server, world.agency(), "coordinator");
    let secret = wrong(&|body| body["secret"] = json!("whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"));
    at.post("/v1/receivers", secret).await.refused(422, "field-invalid");
    let address = wrong(&|body| body["address"] = json!("desk@dispatch.example, other@dispatch.example"));
    at.post("/v1/receivers", address).await.refused(422, "field-invalid");
    let id = add(world, &server).await;
    server.stop().await;
    let server = Server::telling(&world.location, &world.clock, Outward::Public).await;
    let crew = world.crew();
    let alert = falls(world, &crew).await;
    let failing = told(&crew, &alert, id, "failing").await;
    assert!(failing["problem"].as_str().unwrap().contains("sends no e-mail yet"), "{failing}");
    assert!(relay.taken().is_empty());
    server.stop().await;
});
