use std::fmt;

/// Number of random bytes in an id, so many that two players will hardly ever draw the same id.
const BYTES: usize = 16;
/// Most characters of a name, blanks included; the rest of a longer name is cut.
const LETTERS: usize = 60;

/// The id of a player: drawn at random once, and the same whatever the player's name becomes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PlayerId([u8; BYTES]);

impl PlayerId {
    /// The id made of bytes that the caller drew at random.
    #[must_use]
    pub const fn new(drawn: [u8; BYTES]) -> Self {
        Self(drawn)
    }

    /// Reads an id as [`PlayerId`] prints it: 32 hexadecimal digits in lower case; `None` for anything else.
    #[must_use]
    pub fn from_hex(text: &str) -> Option<Self> {
        let digit = |sign: u8| match sign {
            b'0'..=b'9' => Some(sign - b'0'),
            b'a'..=b'f' => Some(sign - b'a' + 10),
            _ => None,
        };
        let mut bytes = [0; BYTES];
        if text.len() != 2 * BYTES {
            return None;
        }
        for (byte, pair) in bytes.iter_mut().zip(text.as_bytes().chunks_exact(2)) {
            *byte = 16 * digit(pair[0])? + digit(pair[1])?;
        }
        Some(Self(bytes))
    }

    /// The first four digits, for a person to read.
    #[must_use]
    pub fn short(self) -> String {
        self.to_string().chars().take(4).collect()
    }
}

impl fmt::Display for PlayerId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

/// Who played: the id, and the name at that time, which may be a pseudonym or empty.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NamedPlayer {
    /// The id of the player.
    pub id: PlayerId,
    /// The name; the player may change it.
    pub name: String,
}

impl NamedPlayer {
    /// Makes a name of what was typed: signs that steer a terminal become blanks, only the first 60 characters are kept, and blanks at both
    /// ends are dropped.
    #[must_use]
    pub fn new(id: PlayerId, typed: &str) -> Self {
        let plain: String =
            typed.chars().map(|sign| if sign.is_control() { ' ' } else { sign }).take(LETTERS).collect();
        Self { id, name: plain.trim().to_owned() }
    }

    /// Whether what is typed is this name, whatever its case.
    #[must_use]
    pub fn is(&self, typed: &str) -> bool {
        self.name.to_lowercase() == Self::new(self.id, typed).name.to_lowercase()
    }

    /// How a player is named in the name of a file: up to 24 signs of the name in lower case (letters, digits, and hyphens between
    /// its words), and the first four digits of the id, since two players may have one name.
    #[must_use]
    pub fn in_file_name(&self) -> String {
        let plain: String =
            self.name.to_lowercase().chars().map(|sign| if sign.is_alphanumeric() { sign } else { ' ' }).collect();
        let words: Vec<&str> = plain.split_whitespace().collect();
        let name: String = words.join("-").chars().take(24).collect();
        let name = name.trim_end_matches('-');
        let between = if name.is_empty() { "" } else { "-" };
        format!("{name}{between}{}", self.id.short())
    }
}

#[cfg(test)]
mod tests {
    use super::{NamedPlayer, PlayerId};

    #[test]
    fn an_id_comes_back_from_its_digits_and_nothing_else_is_one() {
        let id = PlayerId::new([0, 1, 0xab, 0xff, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15]);
        assert_eq!(id.to_string(), "0001abff0405060708090a0b0c0d0e0f");
        assert_eq!(PlayerId::from_hex(&id.to_string()), Some(id));
        for wrong in [
            "",
            "0001",
            "0001ABFF0405060708090a0b0c0d0e0f",
            "0001abff0405060708090a0b0c0d0e0g",
            "é".repeat(16).as_str(),
        ] {
            assert_eq!(PlayerId::from_hex(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn a_hostile_name_is_inert_in_the_name_of_a_file() {
        let named = |name: &str| NamedPlayer::new(PlayerId::new([0xab; 16]), name).in_file_name();
        assert_eq!(named("Anna Björk"), "anna-björk-abab");
        assert_eq!(named("../../etc/passwd"), "etc-passwd-abab");
        assert_eq!(named("a\u{1b}[2J\n|; rm -rf *.zip"), "a-2j-rm-rf-zip-abab");
        assert_eq!(named(""), "abab");
        assert!(named(&"x".repeat(500)).len() < 40);
    }
}
