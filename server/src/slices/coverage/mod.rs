//! Coverage: which share of the demand a full rig reaches in time, what is lost when one drops, and where reserve sets bring
//! most. It owns nothing; it is read from demand, stations, rigs and their capability of one and the same revision. A zone
//! that is reached is reached *if the rig is at home and free*.

mod api;
mod county;
mod sites;
mod view;

pub use api::routes;
pub use county::{County, Standing};
