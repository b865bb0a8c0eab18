//! `make bench`: what the service does in a second, beside what bare actix and bare SQLite do in the same run on the same
//! machine. Ratios travel between machines, figures do not.

mod alone;
mod anew;
mod decisions;
mod feed;
mod fleet;
mod load;
mod past;
mod running;
mod service;
mod writes;
mod yardsticks;

#[path = "../world/cluster.rs"]
mod cluster;
#[allow(dead_code, reason = "shared with the tests, which use all of it")]
#[path = "../world/run.rs"]
mod run;

/// One line of the table: what, how many a second, against which yardstick, and how many were aimed at.
#[derive(Default)]
pub struct Line {
    pub what: String,
    pub per_second: f64,
    pub against: Option<(&'static str, f64)>,
    pub goal: Option<f64>,
}

impl Line {
    fn new(what: String, per_second: f64) -> Self {
        Self {
            what,
            per_second,
            ..Self::default()
        }
    }

    fn say(&self) {
        let ratio = self.against.map(|(name, yard)| format!("   {:>6.2} x {name}", self.per_second / yard));
        let goal = self.goal.map(|goal| format!("   goal >= {goal:.0} /s"));
        println!(
            "{:<58} {:>12.0} /s{}{}",
            self.what,
            self.per_second,
            ratio.unwrap_or_default(),
            goal.unwrap_or_default()
        );
    }
}

/// A line of the table that is no rate.
pub fn goal(what: &str, figure: &str, goal: Option<&str>) {
    let goal = goal.map(|goal| format!("   goal {goal}"));
    println!("{what:<58} {figure:>15}{}", goal.unwrap_or_default());
}

fn main() {
    let mut arguments = std::env::args().skip(1);
    if let (Some(feed::SERVE), Some(path)) = (arguments.next().as_deref(), arguments.next()) {
        return feed::serve(&path);
    }
    // `cargo test --benches` runs this too; there is nothing to test here.
    if std::env::args().any(|argument| argument == "--test") {
        return;
    }
    println!("cores: {}", std::thread::available_parallelism().map_or(0, std::num::NonZero::get));
    let folder = tempfile::tempdir().expect("a folder for the databases");
    // One part alone: `cargo bench -p fullset-tests past`.
    let only = |part: &str| std::env::args().any(|argument| argument == part);
    for (part, measure) in [
        ("past", past::measure as fn(&std::path::Path)),
        ("decisions", decisions::measure),
        ("anew", anew::measure),
        ("writes", writes::measure),
    ] {
        if only(part) {
            return measure(folder.path());
        }
    }
    let bare = yardsticks::measure(folder.path());
    feed::measure(folder.path(), &bare);
    service::measure(folder.path(), &bare);
    writes::measure(folder.path());
    past::measure(folder.path());
    decisions::measure(folder.path());
    anew::measure(folder.path());
}
