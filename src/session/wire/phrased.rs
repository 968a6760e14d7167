use serde::{Deserialize, Serialize};

use crate::cue::JoinedPart;
use crate::pattern::PatternId;
use crate::session::wire::WireError;
use crate::session::wire::bounds;
use crate::session::wire::words::WireSeam;

/// One whole pattern of a phrase.
#[derive(Serialize, Deserialize)]
pub(super) struct WirePart {
    pattern: String,
    title: String,
    concert_root: String,
    first_note: u32,
    last_note: u32,
    /// Left out where the part is not joined to the one before it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    seam: Option<WireSeam>,
}

impl From<&JoinedPart> for WirePart {
    fn from(part: &JoinedPart) -> Self {
        let place = |note: usize| note.min(bounds::NOTES) as u32;
        Self {
            pattern: bounds::put_text(&part.pattern.0),
            title: bounds::put_text(&part.title),
            concert_root: part.key.name().to_owned(),
            first_note: place(part.first),
            last_note: place(part.last),
            seam: part.seam.map(Into::into),
        }
    }
}

impl TryFrom<WirePart> for JoinedPart {
    type Error = WireError;
    fn try_from(wire: WirePart) -> Result<Self, WireError> {
        let (first, last) = (wire.first_note as usize, wire.last_note as usize);
        if first > last || last > bounds::NOTES {
            return Err(WireError("a part of a phrase that ends before it begins, or beyond any line".to_owned()));
        }
        Ok(Self {
            pattern: PatternId(bounds::take_text(wire.pattern)?),
            title: bounds::take_text(wire.title)?,
            key: bounds::key(&wire.concert_root)?,
            first,
            last,
            seam: wire.seam.map(Into::into),
        })
    }
}

/// What holds and was never used in free playing.
#[derive(Serialize, Deserialize)]
pub(super) struct WireNeverUsed {
    /// Number of keys in which the pattern holds.
    pub(super) held_keys: u32,
    /// Number of free choruses in which it was looked for.
    pub(super) choruses: u32,
}

/// What broke lately in phrases, so that it comes more often.
#[derive(Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "snake_case")]
pub(super) enum WireWeak {
    Join { broke: u32, tries: u32, days: i32 },
    Key { broke: u32, tries: u32, days: i32 },
}
