use std::collections::VecDeque;
use std::sync::Arc;

use crate::cue::{Cue, CueSound};
use crate::engine::audio::{AudioSource, CueOutput, PlacedCue};
use crate::engine::listener::Listener;
use crate::engine::note_source::NoteSource;
use crate::engine::trading::{followed, unanswered};
use crate::music::Intonation;
use crate::notes::EarSettings;
use crate::room::Echo;
use crate::sound::{Clip, InputStretch, Placement, SoundBlock};
use crate::trade::{JudgedExchange, Trade, TradeMoment};
use crate::units::{SampleRate, Seconds};
use crate::words::SoundFault;

/// Number of samples in a block, as a sound card would give them.
const BLOCK: usize = 480;
/// The band is told of so long after it began, as where it sounds live.
const TOLD_LATE: Seconds = Seconds(0.1);

/// A trade is heard once more, from the sound that was kept of it: the band is taken out of it again, and every answer is judged. `place` is
/// where the plan's lead-in lies, `sound` is band and phrases at the rate of the kept sound, whose stretches follow each other without a
/// hole from before the lead-in on.
#[must_use]
pub fn trade_again(
    plan: &Trade,
    place: Placement,
    sound: &CueSound,
    kept: Vec<InputStretch>,
    ear: &EarSettings,
    (delay, intonation): (Option<Seconds>, Intonation),
) -> Vec<JudgedExchange> {
    let settings = EarSettings { rate: sound.clip.rate, ..*ear };
    let mut rig = Listener::new(settings, Echo::new(settings.rate), KeptSound(kept.into(), 0)).keeping_no_sound();
    rig.cue_ordered();
    while rig.now() < place.from + TOLD_LATE {
        if rig.hear().is_none() {
            return Vec::new();
        }
    }
    rig.band_placed(sound, place.later(delay.unwrap_or(Seconds(0.0))), unanswered(plan));
    let mut judged = Vec::new();
    let mut tell = |moment: Option<TradeMoment>| {
        if let Some(TradeMoment::Judged(_, answers) | TradeMoment::BrokenOff(_, answers)) = moment {
            judged.extend(answers);
        }
        true
    };
    // The sound ends where the player ended; that is no fault here.
    let _ = followed(&mut rig, plan, place, (delay, intonation), &mut tell);
    judged
}

/// Sound that was kept, as a microphone: its stretches, and how much of the first was read.
struct KeptSound(VecDeque<InputStretch>, usize);

impl AudioSource for KeptSound {
    fn read(&mut self, into: &mut Vec<f32>) -> Option<SoundBlock> {
        into.clear();
        let stretch = self.0.front()?;
        let (all, rate) = (stretch.clip.samples.len(), stretch.clip.rate);
        let begins = self.1;
        let ends = (begins + BLOCK).min(all);
        into.extend_from_slice(stretch.clip.samples.get(begins..ends).unwrap_or_default());
        let at = stretch.from + (stretch.until - stretch.from) * (begins as f64 / all.max(1) as f64);
        self.1 = ends;
        if ends >= all {
            self.0.pop_front();
            self.1 = 0;
        }
        (!into.is_empty()).then_some(SoundBlock { at, rate, gap: Seconds(0.0) })
    }

    fn trouble(&mut self) -> Option<SoundFault> {
        self.0.is_empty().then_some(SoundFault::Zeros)
    }
}

impl CueOutput for KeptSound {
    fn output_rate(&mut self) -> Option<SampleRate> {
        None
    }
    fn play(&mut self, _cue: &Cue, _sound: &CueSound) -> bool {
        false
    }
    fn placed(&mut self) -> Option<PlacedCue> {
        None
    }
    fn hush(&mut self) {}
    fn play_back(&mut self, _clips: &[Arc<Clip>]) {}
}
