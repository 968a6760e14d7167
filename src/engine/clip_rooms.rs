use std::sync::Arc;

use crate::sound::Clip;
use crate::units::{SampleRate, Seconds};

/// Most clips that are remembered; where more are in use at once, the oldest is left to whoever uses it.
const ROOMS: usize = 4;

/// Clips whose room is used again. Memory that is taken and given back for each cue would leave the program larger after every
/// longer cue.
#[derive(Debug)]
pub struct ClipRooms {
    /// The clips; some are in use: they sound, or are kept to be heard again.
    clips: Vec<Arc<Clip>>,
    /// Number of samples that a new clip has room for.
    spacious: usize,
}

impl ClipRooms {
    /// Makes empty clips, each with room for this length at the usual rate. The room is written once, because a system gives memory
    /// only when it is touched.
    #[must_use]
    pub fn of(count: usize, length: Seconds) -> Self {
        let spacious = SampleRate::DEVICE.samples(length);
        let empty = || {
            let mut clip = Clip { rate: SampleRate::DEVICE, samples: vec![f32::MIN_POSITIVE; spacious] };
            clip.samples.clear();
            Arc::new(clip)
        };
        Self { clips: (0..count).map(|_| empty()).collect(), spacious }
    }

    /// A clip that nobody uses any more, or a new one. It may still have the samples of its last use.
    pub fn take(&mut self) -> Clip {
        let free = self.clips.iter().position(|clip| Arc::strong_count(clip) == 1);
        let used = free.and_then(|place| Arc::try_unwrap(self.clips.remove(place)).ok());
        used.unwrap_or_else(|| Clip { rate: SampleRate::DEVICE, samples: Vec::with_capacity(self.spacious) })
    }

    /// Remembers a clip that is in use now, so that its room is used again once it is free.
    pub fn remember(&mut self, clip: &Arc<Clip>) {
        self.clips.push(Arc::clone(clip));
        if self.clips.len() > ROOMS {
            self.clips.remove(0);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn put(rooms: &mut ClipRooms, sample: f32) -> Arc<Clip> {
        let mut clip = rooms.take();
        clip.samples.clear();
        clip.samples.resize(1000, sample);
        let clip = Arc::new(clip);
        rooms.remember(&clip);
        clip
    }

    #[test]
    fn the_next_clip_takes_the_room_of_one_that_nobody_holds() {
        let mut rooms = ClipRooms::of(1, Seconds(1.0));
        let first = put(&mut rooms, 1.0).samples.as_ptr();
        let second = put(&mut rooms, 2.0);
        assert_eq!((first, second.samples[0]), (second.samples.as_ptr(), 2.0));
    }

    #[test]
    fn what_is_still_held_stays_as_it_was_played() {
        let mut rooms = ClipRooms::of(1, Seconds(1.0));
        let kept = put(&mut rooms, 1.0);
        let held: Vec<Arc<Clip>> = (2..9).map(|n| put(&mut rooms, n as f32)).collect();
        assert_eq!((kept.samples[0], held[0].samples[0]), (1.0, 2.0));
    }
}
