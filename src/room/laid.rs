use crate::cue::CueSound;
use crate::notes::HeardNote;
use crate::units::{SampleRate, Seconds};

/// How far before its due moment an echo may be heard to begin: the ear dates an onset back to the first rise.
const EARLY: f64 = 0.06;
/// How long a note must sound on after the cue's end and the room's tail to be the player's.
const OUTLASTING: f64 = 0.25;

/// What an ear may make of a tone in a room, in half steps: itself, its second to fourth partial, its half to sixth.
const RELATED: [f64; 9] = [0.0, 12.0, 19.0, 24.0, -12.0, -19.0, -24.0, -27.9, -31.0];
/// A room may make one tone so much louder than the others, in decibels.
const RINGING: f64 = 12.0;
/// What is so far below the echo is no answer: nobody plays 35 dB softer than the loudspeaker at the microphone.
const UNHEARD: f64 = 35.0;

/// A cue laid on the input's clock: its samples, and when its notes sound. All instants in seconds of that clock, before the
/// delay of the way.
#[derive(Debug, Clone)]
pub(super) struct Laid {
    /// Index of the first sample on the input's clock.
    pub origin: i64,
    pub played: Vec<f64>,
    pub begins: f64,
    pub end: f64,
    /// Onset, end and pitch of every note.
    notes: Vec<(f64, f64, f64)>,
    clicks: Vec<f64>,
    /// Loudest ten milliseconds of the cue's samples, in decibels.
    pub loudest_db: f64,
    /// Loudest note that was taken for the cue's own, as the ear tells loudness.
    pub matched_db: Option<f64>,
}

/// What is known of the way when a note is compared.
#[derive(Debug, Clone, Copy)]
pub(super) struct Way {
    /// Believed delay; `None` while unknown.
    pub delay: Option<f64>,
    /// Level of the echo, as the ear tells loudness; `None` while unknown.
    pub echo_db: Option<f64>,
    /// Reverberation time.
    pub decay: f64,
    /// The tail is being subtracted.
    pub cleaned: bool,
    /// Level of the noise before the cue.
    pub noise_db: f64,
}

impl Laid {
    pub fn new(sound: &CueSound, begins: Seconds, rate: SampleRate) -> Self {
        let played: Vec<f64> = sound.clip.samples.iter().map(|s| f64::from(*s)).collect();
        let step = rate.samples(Seconds(0.01));
        let levels = super::envelope::levels(&played, step);
        Self {
            origin: (begins.0 * rate.per_second()).round() as i64,
            begins: begins.0,
            end: begins.0 + sound.end.0,
            notes: sound.notes.iter().map(|n| (begins.0 + n.at.0, begins.0 + n.until.0, n.pitch.0)).collect(),
            clicks: sound.clicks.iter().map(|click| begins.0 + click.0).collect(),
            loudest_db: levels.into_iter().fold(-200.0, f64::max),
            matched_db: None,
            played,
        }
    }

    /// Onset of the first note, or the end for a cue without notes.
    fn first(&self) -> f64 {
        self.notes.iter().map(|(at, ..)| *at).fold(self.end, f64::min)
    }

    /// Whether a heard note is the cue's own, by onset, pitch and level.
    pub fn is_own(&mut self, note: &HeardNote, way: &Way) -> bool {
        let (onset, delay) = (note.onset.0, way.delay.unwrap_or(0.0));
        // While the delay is unknown the echo may be this late.
        let late = if way.delay.is_some() { 0.07 } else { 0.16 };
        if onset < self.begins + delay - EARLY {
            // Told only now that the cue sounds, and doubtful: the cue made it out of what lay before.
            return note.announced.0 > self.begins + delay && note.confidence < 0.6;
        }
        if onset < self.first() + delay - EARLY {
            let near = |click: &f64| (-EARLY..late).contains(&(onset - click - delay));
            return self.clicks.iter().any(near);
        }
        let loudness = note.loudness.0;
        let outlasts = note.release.0 > self.end + delay + way.decay + OUTLASTING;
        if outlasts || (way.delay.is_some() && way.echo_db.is_some_and(|echo| loudness > echo + RINGING)) {
            return false;
        }
        // Headphones: of what has sounded so far nothing came back, so this is not the cue either.
        let sounded = self.notes.iter().any(|(at, ..)| at + 0.3 < onset);
        if way.delay.is_none() && sounded && self.matched_db.is_none() {
            return false;
        }
        let on_time = |at: f64| (-EARLY..late).contains(&(onset - at - delay));
        // The first pitch told may be that of two notes in one room; where the echo is known the moment alone decides.
        let sharp = |at: f64| way.echo_db.is_some() && (-0.03..0.04).contains(&(onset - at - delay));
        if self.notes.iter().any(|(at, _, pitch)| sharp(*at) || (on_time(*at) && self.alike(note, *pitch))) {
            self.matched_db = Some(self.matched_db.map_or(loudness, |db| db.max(loudness)));
            return true;
        }
        let echo = self.matched_db.into_iter().chain(way.echo_db).fold(f64::NEG_INFINITY, f64::max);
        if echo == f64::NEG_INFINITY {
            return false;
        }
        let past = onset - self.end - delay;
        if past < 0.0 {
            loudness < echo + 6.0 && self.lingers(note, delay, way.decay)
        } else {
            self.in_tail(note, echo, past, way)
        }
    }

    /// Notes of the cue sound at once, or overlap: a chord.
    fn together(&self) -> bool {
        self.notes.windows(2).any(|pair| pair[1].0 < pair[0].1 - 0.05)
    }

    /// The pitch of one of the cue's notes, or what an ear may make of it in a room. Of notes that sound together (a chord) any pitch may be heard.
    fn alike(&self, note: &HeardNote, pitch: f64) -> bool {
        self.together()
            || [note.pitch.0, note.announced_pitch.0]
                .iter()
                .any(|heard| RELATED.iter().any(|by| (heard - pitch - by).abs() < 0.7))
    }

    /// A fragment heard between two notes of the cue, or in the tail of one: its pitch is theirs or lies between them.
    fn lingers(&self, note: &HeardNote, delay: f64, decay: f64) -> bool {
        let onset = note.onset.0 - delay;
        let near: Vec<f64> = self
            .notes
            .iter()
            .filter(|(at, until, _)| *at < onset + 0.08 && onset < until + decay.max(0.2))
            .map(|(.., pitch)| *pitch)
            .collect();
        let low = near.iter().copied().fold(f64::INFINITY, f64::min);
        let high = near.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let between = (low - 0.7..=high + 0.7).contains(&note.pitch.0) && note.confidence < 0.6;
        between || near.iter().any(|pitch| self.alike(note, *pitch))
    }

    /// Something heard `past` seconds after the end, no louder than what is left of the cue then, or hardly above the noise.
    fn in_tail(&self, note: &HeardNote, echo: f64, past: f64, way: &Way) -> bool {
        // What begins at the very end still holds some of the cue itself; later the tail has been taken out. Of a chord an ear
        // makes new notes whenever its balance changes.
        let margin = match (self.together(), way.cleaned && past > 0.03) {
            (true, _) => 10.0,
            (false, true) => 0.0,
            (false, false) => 6.0,
        };
        let left = (echo - 60.0 * past / (1.3 * way.decay) + margin).max(echo - UNHEARD).max(way.noise_db + 8.0);
        past < 2.5 * way.decay && note.loudness.0 < left
    }
}
