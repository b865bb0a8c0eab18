//! `make bench`: what the service does in a second, beside what bare actix and bare SQLite do in the same run on the same
//! machine. Ratios travel between machines, figures do not.

mod load;
mod service;
mod yardsticks;

/// One line of the table: what, how many a second, and against which yardstick.
pub struct Line {
    pub what: String,
    pub per_second: f64,
    pub against: Option<(&'static str, f64)>,
}

impl Line {
    fn say(&self) {
        let ratio = self
            .against
            .map(|(name, yard)| format!("   {:>6.2} x {name}", self.per_second / yard))
            .unwrap_or_default();
        println!("{:<58} {:>12.0} /s{ratio}", self.what, self.per_second);
    }
}

fn main() {
    // `cargo test --benches` runs this too; there is nothing to test here.
    if std::env::args().any(|argument| argument == "--test") {
        return;
    }
    println!("cores: {}", std::thread::available_parallelism().map_or(0, std::num::NonZero::get));
    let folder = tempfile::tempdir().expect("a folder for the databases");
    let bare = yardsticks::measure(folder.path());
    service::measure(folder.path(), &bare);
}
