use std::io;
use std::sync::LazyLock;

use crate::files::record_file::{Opener, RecordFile};

/// The file in a live folder that only takes room.
pub(super) const RESERVE: &str = "reserve";
/// Sizes of the room in bytes, tried from the first: the record of about twenty minutes, down to the least that is worth keeping.
const SIZES: [usize; 6] = [512 << 10, 256 << 10, 128 << 10, 64 << 10, 32 << 10, 16 << 10];

/// Room on the disk that is kept for the record. Sound needs a hundred times as much and would take the last of the disk. So sound
/// is written only while this room is taken, and the record gets the room when the disk is full.
#[derive(Default)]
pub(super) struct Reserve {
    /// The file that takes the room, once it was opened.
    file: Option<Box<dyn RecordFile>>,
    /// Bytes that were taken the first time, `None` before: later the same number is taken, because fewer may not be enough.
    size: Option<usize>,
    /// Whether the room is taken now.
    taken: bool,
}

impl Reserve {
    /// Takes the room if it is not taken yet; returns whether it is taken now.
    pub(super) fn take(&mut self, open: &mut Opener) -> bool {
        if self.taken {
            return true;
        }
        let file = match &mut self.file {
            Some(file) => file,
            None => match open(RESERVE) {
                Ok(file) => self.file.insert(file),
                Err(_) => return false,
            },
        };
        for size in SIZES.into_iter().filter(|size| self.size.is_none_or(|first| first == *size)) {
            if file.write_from(0, &FILLING[..size]).is_ok() {
                (self.size, self.taken) = (Some(size), true);
                return true;
            }
            // The part that was written is not enough.
            let _ = file.cut(0);
        }
        false
    }

    /// Gives the room to whoever writes next; returns whether there was any.
    pub(super) fn release(&mut self) -> bool {
        let taken = std::mem::take(&mut self.taken);
        let cut: io::Result<()> = self.file.as_mut().map_or(Ok(()), |file| file.cut(0));
        taken && cut.is_ok()
    }
}

/// Bytes that no file system can make smaller (the linear generator of Park and Miller, with their multiplier of 1993).
static FILLING: LazyLock<Vec<u8>> = LazyLock::new(|| {
    let mut state = 1_u64;
    let next = |_| {
        state = state * 48_271 % 2_147_483_647;
        (state >> 8) as u8
    };
    (0..SIZES[0]).map(next).collect()
});
