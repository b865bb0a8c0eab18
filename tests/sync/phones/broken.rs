//! Rules that are broken on purpose: a check that does not find them would find nothing.

use super::{plan::Plan, run};

/// What is broken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Broken {
    /// One phone takes the token of a page without its changes.
    DropsAPage,
    /// Phones keep what is gone.
    IgnoresGone,
    /// A phone that lost a reply sends the same under new ids.
    NewIdOnResend,
    /// Something between one phone and the service takes a change off each page.
    ProxyTakesOneChange,
    /// A phone that is told to take a new snapshot keeps its old records.
    KeepsTheOldScope,
    /// The sequential model lets a return to service win over *out of service*.
    OutMayLose,
}

/// The harness, broken so, must find fault; the words must be in what it says.
fn is_found(broken: Broken, words: &str) {
    let plan = Plan {
        broken: Some(broken),
        orders: Vec::new(),
        ..Plan::of(3, 32)
    };
    let faults = run(&plan).expect_err("nothing was found");
    assert!(faults.iter().any(|fault| fault.contains(words)), "{faults:#?}");
}

#[test]
fn a_phone_that_drops_a_page_is_found() {
    is_found(Broken::DropsAPage, "phone 0 is not equal");
}

#[test]
fn a_phone_that_ignores_what_is_gone_is_found() {
    is_found(Broken::IgnoresGone, "is not equal");
}

#[test]
fn a_phone_that_sends_a_new_id_on_resend_is_found() {
    is_found(Broken::NewIdOnResend, "that nobody was told of");
}

#[test]
fn a_proxy_that_takes_one_change_away_is_found() {
    is_found(Broken::ProxyTakesOneChange, "phone 0 is not equal");
}

#[test]
fn a_phone_that_keeps_the_records_of_its_old_scope_is_found() {
    is_found(Broken::KeepsTheOldScope, "is not equal");
}

#[test]
fn a_model_in_which_out_of_service_does_not_win_is_found() {
    is_found(Broken::OutMayLose, "the model says");
}
