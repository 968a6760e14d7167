//! The key of a school, under which its tables have pseudonyms.

use std::fs;
use std::io::{Read, Write};
use std::path::Path;

use sha2::{Digest, Sha256};

use crate::files::FileError;
use crate::files::places::{private_folders, read_text};
use crate::report::Pseudonyms;

/// Bytes of a key.
const BYTES: usize = 32;
/// Bytes that SHA-256 takes at once (FIPS 180-4).
const BLOCK: usize = 64;
const READING: &str = "read the school's key";

/// The secret of a school. Whoever has it can tell whose a pseudonym is, so it stays with the school.
pub struct SchoolKey(Vec<u8>);

impl SchoolKey {
    /// Reads the key in a file; returns it, and whether it was made just now. Where no file is there, one is made that only its
    /// owner may read.
    ///
    /// # Errors
    /// When it cannot be read or made, or holds something else than 64 hexadecimal digits.
    pub fn of(path: &Path) -> Result<(Self, bool), FileError> {
        let made = !path.exists();
        if made {
            make(path)?;
        }
        let text = read_text(path, READING, 1024)?;
        let digits = text.trim().as_bytes();
        let pair = |pair: &[u8]| u8::from_str_radix(std::str::from_utf8(pair).ok()?, 16).ok();
        let bytes: Option<Vec<u8>> = digits.chunks(2).map(pair).collect();
        let plain = digits.len() == 2 * BYTES && digits.iter().all(u8::is_ascii_hexdigit);
        let bytes = bytes.filter(|_| plain).ok_or_else(|| {
            FileError::unreadable(READING, path, "it is not 64 hexadecimal digits", "name the school's own key")
        })?;
        Ok((Self(bytes), made))
    }

    fn hash(&self, kind: &str, of: &str) -> [u8; 32] {
        hmac(&self.0, format!("{kind}\0{of}").as_bytes())
    }
}

impl Pseudonyms for SchoolKey {
    fn word(&self, kind: &str, of: &str) -> String {
        self.hash(kind, of)[..6].iter().map(|byte| format!("{byte:02x}")).collect()
    }

    fn number(&self, kind: &str, of: &str) -> i64 {
        let mut first = [0; 8];
        first.copy_from_slice(&self.hash(kind, of)[..8]);
        i64::from_be_bytes(first) & i64::MAX
    }
}

fn make(path: &Path) -> Result<(), FileError> {
    let failure = |error: &std::io::Error| FileError::system("make the school's key", path, error);
    let mut drawn = [0; BYTES];
    fs::File::open("/dev/urandom").and_then(|mut system| system.read_exact(&mut drawn)).map_err(|error| {
        let mend = "write 64 hexadecimal digits that nobody can guess into that file";
        FileError::unreadable("make the school's key", path, error.to_string(), mend)
    })?;
    if let Some(folder) = path.parent().filter(|folder| !folder.as_os_str().is_empty()) {
        private_folders(folder).map_err(|error| failure(&error))?;
    }
    let mut options = fs::File::options();
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let text: String = drawn.iter().map(|byte| format!("{byte:02x}")).chain(["\n".to_owned()]).collect();
    let mut file = options.create_new(true).write(true).open(path).map_err(|error| failure(&error))?;
    file.write_all(text.as_bytes()).and_then(|()| file.sync_all()).map_err(|error| failure(&error))
}

/// HMAC-SHA256 (RFC 2104).
fn hmac(key: &[u8], text: &[u8]) -> [u8; 32] {
    let mut block = [0; BLOCK];
    if key.len() > BLOCK {
        block[..32].copy_from_slice(&Sha256::digest(key));
    } else {
        block[..key.len()].copy_from_slice(key);
    }
    let keyed =
        |pad: u8, text: &[u8]| Sha256::new().chain_update(block.map(|byte| byte ^ pad)).chain_update(text).finalize();
    keyed(0x5c, &keyed(0x36, text)).into()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_keyed_hash_is_the_published_one() {
        // RFC 4231, test cases 1, 2 and 6.
        let hex =
            |key: &[u8], text: &[u8]| -> String { hmac(key, text).iter().map(|byte| format!("{byte:02x}")).collect() };
        let first = "b0344c61d8db38535ca8afceaf0bf12b881dc200c9833da726e9376c2e32cff7";
        assert_eq!(hex(&[0x0b; 20], b"Hi There"), first);
        let second = "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843";
        assert_eq!(hex(b"Jefe", b"what do ya want for nothing?"), second);
        let sixth = "60e431591ee0b67f0d8a26aacbf5b77f8e0bc6213728c5140546040f0ee37f54";
        assert_eq!(hex(&[0xaa; 131], b"Test Using Larger Than Block-Size Key - Hash Key First"), sixth);
    }
}
