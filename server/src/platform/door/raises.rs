//! What a command lets count that did not count before, and what it asks less of: noted while the command is worked out. An act
//! that must say why is refused without a reason once something is noted here.

use std::fmt::Write as _;

use super::Write;
use crate::platform::error::{self, Fault};

/// The most names of one kind that a refusal lists.
const MOST_NAMED: usize = 5;

/// Something that counts for more than before the command.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Raise {
    /// What people call such a thing: "rig", "piece".
    pub noun: &'static str,
    /// Its name.
    pub name: String,
    /// What was said of it.
    pub from: &'static str,
    /// What would be said of it.
    pub to: &'static str,
}

/// Everything that one command raises or eases.
#[derive(Debug, Default)]
pub(super) struct Raises {
    raised: Vec<Raise>,
    eased: Vec<String>,
    /// Whether the clock judges some of it, so that nobody can see yet what rises.
    pub(super) unseen: bool,
}

impl Raises {
    /// The refusal of a command that does not say why; none where there is nothing to say it for. What is eased needs a reason
    /// whatever the act; what rises does where `every_raise` says so.
    pub(super) fn unexplained(&self, every_raise: bool) -> Option<Fault> {
        let mut all: Vec<String> = Vec::new();
        let mut nouns: Vec<&'static str> = Vec::new();
        for raise in self.raised.iter().filter(|_| every_raise || !self.eased.is_empty()) {
            if !nouns.contains(&raise.noun) {
                nouns.push(raise.noun);
            }
        }
        all.extend(nouns.into_iter().map(|noun| self.raised_of(noun)));
        all.extend(self.eased.iter().take(MOST_NAMED).cloned());
        if self.eased.len() > MOST_NAMED {
            all.push(format!("and {} more of that sort", self.eased.len() - MOST_NAMED));
        }
        if all.is_empty() {
            if !(self.unseen && every_raise) {
                return None;
            }
            all.push("more is judged anew by this than can be seen at once, and some of it may rise".to_owned());
        }
        let words = format!("This {}. Write why; it is kept", all.join("; this "));
        Some(Fault::new(error::REASON_NEEDED, words).at("body.reason"))
    }

    /// The refusal of a program's command that lets anything count that did not.
    pub(super) fn takes_a_person(&self) -> Option<Fault> {
        let lifts = !self.raised.is_empty() || !self.eased.is_empty() || self.unseen;
        lifts.then(|| {
            Fault::new(
                error::NOT_ALLOWED,
                "This lets something count that did not, or asks for less; that takes a person, not a program",
            )
        })
    }

    fn raised_of(&self, noun: &str) -> String {
        let of: Vec<&Raise> = self.raised.iter().filter(|raise| raise.noun == noun).collect();
        let plural = if of.len() == 1 { "" } else { "s" };
        let mut words = format!("raises {} {noun}{plural}: ", of.len());
        for (n, raise) in of.iter().take(MOST_NAMED).enumerate() {
            // Writing to a String cannot fail.
            let _ = write!(words, "{}{} ({} to {})", if n == 0 { "" } else { ", " }, raise.name, raise.from, raise.to);
        }
        if of.len() > MOST_NAMED {
            let _ = write!(words, " and {} more", of.len() - MOST_NAMED);
        }
        words
    }
}

impl Write<'_> {
    /// Notes that something counts for more than before. The same thing is noted once.
    pub fn note_raise(&mut self, raise: Raise) {
        if !self.raises.raised.contains(&raise) {
            self.raises.raised.push(raise);
        }
    }

    /// Notes that less is asked than before: the command is refused without a reason. `words` go on after "This ...":
    /// "asks less of Rescue engine: limited instead of full".
    pub fn note_eased(&mut self, words: impl Into<String>) {
        self.raises.eased.push(words.into());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rig(n: usize) -> Raise {
        Raise {
            noun: "rig",
            name: format!("Engine {n}"),
            from: "none",
            to: "full",
        }
    }

    #[test]
    fn a_refusal_names_what_would_rise_and_not_more_than_a_few() {
        assert!(Raises::default().unexplained(true).is_none());
        let told = |raises: Raises| raises.unexplained(true).map(|fault| fault.detail).unwrap_or_default();
        let one = Raises {
            raised: vec![rig(4)],
            eased: vec!["asks less of Rescue engine: limited instead of full".into()],
            unseen: true,
        };
        assert_eq!(
            told(one),
            "This raises 1 rig: Engine 4 (none to full); this asks less of Rescue engine: limited instead of full. Write why; it is kept"
        );
        let many = Raises {
            raised: (1..=7).map(rig).collect(),
            ..Raises::default()
        };
        let words = told(many);
        assert!(words.starts_with("This raises 7 rigs: Engine 1 (none to full), "), "{words}");
        assert!(words.contains("Engine 5 (none to full) and 2 more.") && !words.contains("Engine 6"), "{words}");
        let unseen = Raises {
            unseen: true,
            ..Raises::default()
        };
        assert!(unseen.unexplained(false).is_none());
        assert!(told(unseen).contains("may rise"));
        let risen = Raises {
            raised: vec![rig(1)],
            ..Raises::default()
        };
        assert!(
            risen.unexplained(false).is_none(),
            "an act that is a release by its nature asks for its own evidence"
        );
    }
}
