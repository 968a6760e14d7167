use sha2::{Digest, Sha256};

/// SHA-256 (FIPS 180-4) as 64 hexadecimal digits.
#[must_use]
pub fn sha256_hex(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}
