//! Passwords, kept as argon2id hashes.

use argon2::{
    Argon2,
    password_hash::{PasswordHasher as _, PasswordVerifier as _, phc::PasswordHash},
};

use crate::platform::error::Fault;

/// Hashes a password; refuses one that is too short to be one.
pub fn hash(password: &str) -> Result<String, Fault> {
    if password.chars().count() < 10 {
        return Err(Fault::field(
            "body.password",
            "A password has 10 characters or more; three unrelated words make a good one",
        ));
    }
    Ok(Argon2::default()
        .hash_password(password.as_bytes())
        .map_err(|error| anyhow::anyhow!("hashing failed: {error}"))?
        .to_string())
}

/// Whether the password is the one behind the hash. Takes the same work for a wrong one.
pub fn verify(password: &str, hash: &str) -> bool {
    PasswordHash::new(hash).is_ok_and(|hash| Argon2::default().verify_password(password.as_bytes(), &hash).is_ok())
}
