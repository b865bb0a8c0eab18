use crate::platform::http::Api;

/// The register's addresses.
pub fn routes(_: &mut Api) {}
