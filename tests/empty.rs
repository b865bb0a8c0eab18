//! Nothing: the package exists for its one test binary, `all.rs`.
