//! What may happen to a swap. Whether a piece may stand in is the piece's matter: `PieceAct::StandIn`.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::feed::SwapState;

/// What a member does with a swap, by the names of the commands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub enum SwapAct {
    /// Ends it: the stand-in goes back.
    #[serde(rename = "swap.end")]
    End,
    /// Makes it permanent.
    #[serde(rename = "swap.keep")]
    Keep,
}

impl SwapAct {
    const ALL: [Self; 2] = [Self::End, Self::Keep];
}

/// Whether the act may be done; if not, why.
pub fn may(act: SwapAct, state: SwapState) -> Result<(), &'static str> {
    match (act, state) {
        (SwapAct::End | SwapAct::Keep, SwapState::Open) => Ok(()),
        (SwapAct::End | SwapAct::Keep, SwapState::Ended) => Err("This swap has been ended already"),
        (SwapAct::End | SwapAct::Keep, SwapState::Kept) => Err("This swap has been made permanent already"),
    }
}

/// What a swap allows in its state, apart from who asks.
pub fn allows(state: SwapState) -> Vec<SwapAct> {
    SwapAct::ALL.into_iter().filter(|act| may(*act, state).is_ok()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_open_swap_is_ended_or_kept_and_nothing_else() {
        assert_eq!(allows(SwapState::Open), SwapAct::ALL);
        assert!(allows(SwapState::Ended).is_empty() && allows(SwapState::Kept).is_empty());
    }
}
