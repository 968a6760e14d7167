use std::sync::Arc;

use crate::sound::Clip;
use crate::units::{SampleRate, Seconds};

/// Room for an answer of this length is taken at the beginning; most are shorter.
const ROOM: Seconds = Seconds(20.0);

/// The sound of the newest answers, in room that is used again: an answer may last half a minute, and memory that is taken and
/// given back for each would leave the program larger after every longer one.
#[derive(Debug)]
pub struct AnswerSound {
    /// One is written into the record while the next one comes.
    clips: [Arc<Clip>; 2],
}

impl Default for AnswerSound {
    fn default() -> Self {
        let empty = || {
            let mut clip = Clip::silence(SampleRate::DEVICE, Seconds(0.0));
            // Written, not only reserved: a system gives memory when it is touched.
            clip.samples.resize(SampleRate::DEVICE.samples(ROOM), f32::MIN_POSITIVE);
            clip.samples.clear();
            Arc::new(clip)
        };
        Self { clips: [empty(), empty()] }
    }
}

impl AnswerSound {
    /// The next answer, written by `write`, which says whether there is any. Room of its own is taken only where the record has
    /// not yet written the one before last.
    pub fn next(&mut self, write: impl FnOnce(&mut Clip) -> bool) -> Option<Arc<Clip>> {
        self.clips.rotate_left(1);
        let [clip, _] = &mut self.clips;
        if Arc::get_mut(clip).is_none() {
            *clip = Arc::new(Clip::silence(clip.rate, Seconds(0.0)));
        }
        let written = Arc::get_mut(clip).is_some_and(write);
        written.then(|| Arc::clone(clip))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn put(sample: f32) -> impl FnOnce(&mut Clip) -> bool {
        move |clip| {
            clip.samples.clear();
            clip.samples.extend([sample; 1000]);
            true
        }
    }

    #[test]
    fn the_third_answer_takes_the_room_of_the_first() {
        let mut sounds = AnswerSound::default();
        let first = sounds.next(put(1.0)).unwrap().samples.as_ptr();
        let second = sounds.next(put(2.0)).unwrap().samples.as_ptr();
        let third = sounds.next(put(3.0)).unwrap();
        assert_ne!(first, second);
        assert_eq!((first, third.samples[0]), (third.samples.as_ptr(), 3.0));
    }

    #[test]
    fn what_the_record_still_writes_stays_as_it_was_played() {
        let mut sounds = AnswerSound::default();
        let kept = sounds.next(put(1.0)).unwrap();
        for n in 2..5 {
            let _ = sounds.next(put(n as f32));
        }
        assert_eq!(kept.samples, [1.0; 1000]);
    }

    #[test]
    fn an_instrument_without_sound_leaves_none() {
        assert_eq!(AnswerSound::default().next(|_| false), None);
    }
}
