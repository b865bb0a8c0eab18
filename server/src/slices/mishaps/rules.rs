//! What may happen to a mishap.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::MishapState;

/// What a member does with a mishap, by the names of the commands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub enum MishapAct {
    /// Closes it, with what was found and done.
    #[serde(rename = "mishap.close")]
    Close,
}

/// Whether the act may be done; if not, why.
pub fn may(act: MishapAct, state: MishapState) -> Result<(), &'static str> {
    match (act, state) {
        (MishapAct::Close, MishapState::Open) => Ok(()),
        (MishapAct::Close, MishapState::Closed) => Err("This was closed already; what was found stays as it was written"),
    }
}

/// What a mishap allows in its state, apart from who asks.
pub fn allows(state: MishapState) -> Vec<MishapAct> {
    [MishapAct::Close].into_iter().filter(|act| may(*act, state).is_ok()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_open_is_closed_once() {
        assert_eq!(allows(MishapState::Open), [MishapAct::Close]);
        assert!(allows(MishapState::Closed).is_empty());
    }
}
