//! Listening outside a drill: every loop that waits for what comes in, of sound or of keys, stands here.

use std::ops::ControlFlow;
use std::thread;
use std::time::Duration;

use crate::engine::audio::AudioSource;
use crate::engine::listener::{HeardBlock, Listener};
use crate::engine::midi_ear::{KeySource, MidiEar};
use crate::engine::note_source::NoteSource;
use crate::midi::{KeysBeside, SteeringKey};
use crate::music::Concert;
use crate::notes::{AnswerEnd, AnswerSoFar, HELD_NOTE, HeardNote, NoteEvent, Silence};
use crate::units::{Seconds, Tempo};
use crate::words::SoundFault;

/// How long the first note of a line is waited for.
const FIRST_NOTE: Seconds = Seconds(120.0);
/// Two beats at this tempo end a line: two seconds of silence.
const SILENCE: Tempo = Tempo(60.0);
/// How long a held note is waited for.
const HELD_WITHIN: Seconds = Seconds(30.0);
/// Pause between two looks at what came in.
const PAUSE: Duration = Duration::from_millis(10);

/// What the caller does while listening goes on.
pub struct ListeningHooks<'a> {
    /// Whether the player asked to stop.
    pub stopped: &'a dyn Fn() -> bool,
    /// Told when a microphone begins to give nothing but exact zeros: that fault may go away, so listening goes on.
    pub trouble: &'a mut dyn FnMut(SoundFault),
}

/// What came of listening to one line.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LineHeard {
    /// The notes of the line that are over, in the order in which they ended. Instants count from the first sample; those of a MIDI
    /// instrument are on the clock that all devices share.
    pub notes: Vec<HeardNote>,
    /// What is wrong with the sound at the end.
    pub trouble: Option<SoundFault>,
    /// The keys that were played beside the line; none where sound is heard.
    pub beside: KeysBeside,
}

/// What can be listened to outside a drill: sound through the ear, or a MIDI instrument.
pub trait Hearing {
    /// Forgets what came so far.
    fn begin_afresh(&mut self);
    /// Adds what became known of the notes since it was last asked.
    fn gather(&mut self, notes: &mut Vec<NoteEvent>);
    /// Ends listening: adds what becomes known by that.
    fn close(&mut self, notes: &mut Vec<NoteEvent>);
    /// The instant up to which everything is known.
    fn reached(&self) -> Seconds;
    /// What is wrong now.
    fn wrong(&mut self) -> Option<SoundFault>;
    /// The keys that were played so far beside the line; an ear knows of none.
    fn keys_beside(&self) -> KeysBeside {
        KeysBeside::default()
    }

    /// Begins afresh and listens until `enough` says so, the player stops, or a fault stops the sound. `enough` gets the instant
    /// that is reached and what became known since its last call. Gives the fault that there is then.
    fn hear_until(
        &mut self,
        beside: &mut ListeningHooks<'_>,
        enough: &mut dyn FnMut(Seconds, &[NoteEvent]) -> bool,
    ) -> Option<SoundFault> {
        self.begin_afresh();
        let (mut notes, mut wrong) = (Vec::new(), None);
        loop {
            notes.clear();
            self.gather(&mut notes);
            let stopped = (beside.stopped)();
            if stopped {
                self.close(&mut notes);
            }
            let now_wrong = self.wrong().filter(|trouble| trouble.stops());
            let before = std::mem::replace(&mut wrong, now_wrong);
            // A microphone that gives only zeros may be muted, or may open only when somebody plays. So the player is told when
            // that begins, and the loop goes on waiting.
            let waits = wrong.is_none_or(|trouble| trouble == SoundFault::Zeros);
            if let Some(wrong) = wrong.filter(|_| waits && wrong != before) {
                (beside.trouble)(wrong);
            }
            if enough(self.reached(), &notes) || stopped || !waits {
                return wrong;
            }
            thread::sleep(PAUSE);
        }
    }

    /// Hears one line, until two seconds of silence after it, or two minutes without a note, or the player stops, or a fault stops
    /// the sound; `begun` gets how many notes have begun whenever something became known.
    fn hear_line(&mut self, beside: &mut ListeningHooks<'_>, begun: &mut dyn FnMut(usize)) -> LineHeard {
        self.begin_afresh();
        let (mut end, before) = (None, self.keys_beside());
        let mut line = LineSoFar::default();
        let trouble = self.hear_until(beside, &mut |now, notes| {
            notes.iter().for_each(|note| line.hear(note));
            if !notes.is_empty() {
                begun(line.begun);
            }
            let end = end.get_or_insert_with(|| AnswerEnd::unasked(now, SILENCE, FIRST_NOTE));
            matches!(end.at(now, line.so_far()), Silence::Ended | Silence::Never)
        });
        LineHeard { notes: line.notes, trouble, beside: self.keys_beside().since(before) }
    }

    /// Hears a note that is held for a second and is another than `before`; `None` where none came within 30 seconds, the player
    /// stopped, or a fault stopped the sound. With the note comes the fault that there is then.
    fn hear_held_note(
        &mut self,
        beside: &mut ListeningHooks<'_>,
        before: Option<Concert>,
    ) -> (Option<Concert>, Option<SoundFault>) {
        let (mut held, mut found, mut begun) = (HeldNote::default(), None, None);
        let wrong = self.hear_until(beside, &mut |now, notes| {
            found = held.hear(notes, now).filter(|note| Some(*note) != before);
            found.is_some() || now - *begun.get_or_insert(now) > HELD_WITHIN
        });
        (found, wrong)
    }
}

impl<A: AudioSource> Listener<A> {
    /// Hears block after block until `take` breaks off. `take` gets each block, and `None` whenever nothing new has come.
    pub fn hear_blocks<T>(&mut self, mut take: impl FnMut(Option<HeardBlock<'_>>) -> ControlFlow<T>) -> T {
        loop {
            let block = self.hear();
            let nothing_came = block.is_none();
            if let ControlFlow::Break(end) = take(block) {
                return end;
            }
            if nothing_came {
                thread::sleep(PAUSE);
            }
        }
    }
}

impl<K: KeySource> MidiEar<K> {
    /// Waits for a key or a pedal to be pressed; `None` where the player stopped before one was.
    ///
    /// # Errors
    /// A fault of the instrument that stops listening.
    pub fn hear_pressed(&mut self, stopped: &dyn Fn() -> bool) -> Result<Option<SteeringKey>, SoundFault> {
        loop {
            self.gather(&mut Vec::new());
            if let Some(wrong) = self.wrong() {
                return Err(wrong);
            }
            let pressed = self.pressed();
            if pressed.is_some() || stopped() {
                return Ok(pressed);
            }
            thread::sleep(PAUSE);
        }
    }
}

impl<A: AudioSource> Hearing for Listener<A> {
    fn begin_afresh(&mut self) {
        self.start_over();
    }
    fn gather(&mut self, notes: &mut Vec<NoteEvent>) {
        while let Some(block) = self.hear() {
            notes.extend_from_slice(block.notes);
        }
    }
    fn close(&mut self, notes: &mut Vec<NoteEvent>) {
        notes.extend_from_slice(self.finish());
    }
    fn reached(&self) -> Seconds {
        self.now()
    }
    fn wrong(&mut self) -> Option<SoundFault> {
        self.audio().trouble()
    }
}

impl<K: KeySource> Hearing for MidiEar<K> {
    fn begin_afresh(&mut self) {
        self.gather(&mut Vec::new());
    }
    fn gather(&mut self, notes: &mut Vec<NoteEvent>) {
        self.listen(&mut |note| notes.push(*note));
    }
    fn close(&mut self, notes: &mut Vec<NoteEvent>) {
        self.let_go(&mut |note| notes.push(note));
    }
    fn reached(&self) -> Seconds {
        self.known()
    }
    fn wrong(&mut self) -> Option<SoundFault> {
        self.trouble().filter(|trouble| trouble.stops())
    }
    fn keys_beside(&self) -> KeysBeside {
        self.beside()
    }
}

/// A line that is being played.
#[derive(Debug, Default)]
struct LineSoFar {
    notes: Vec<HeardNote>,
    begun: usize,
    sounding: usize,
    last: Option<Seconds>,
}

impl LineSoFar {
    fn hear(&mut self, event: &NoteEvent) {
        match event {
            NoteEvent::On(_) => (self.begun, self.sounding) = (self.begun + 1, self.sounding + 1),
            NoteEvent::Revised(_) => {}
            NoteEvent::Off(note) => {
                self.sounding = self.sounding.saturating_sub(1);
                self.notes.push(*note);
            }
        }
        let release = event.note().release;
        self.last = Some(self.last.map_or(release, |last| last.max(release)));
    }

    /// The line so far. It is never complete, because no notes were asked.
    fn so_far(&self) -> AnswerSoFar {
        let last = self.last.filter(|_| self.begun > 0);
        // Nothing was asked, so nothing is cut off.
        AnswerSoFar { last, newest: None, sounding: self.sounding > 0, complete: false }
    }
}

/// The note that sounds, until it has been held long enough to be meant.
#[derive(Debug, Default)]
pub struct HeldNote {
    sounding: Option<HeardNote>,
}

impl HeldNote {
    /// Takes in what became known of notes by `now`; gives the pitch of the note that sounds once it was held for a second.
    pub fn hear(&mut self, notes: &[NoteEvent], now: Seconds) -> Option<Concert> {
        for event in notes {
            self.sounding = match event {
                NoteEvent::On(note) | NoteEvent::Revised(note) => Some(*note),
                NoteEvent::Off(_) => None,
            };
        }
        self.sounding.filter(|note| now - note.onset >= HELD_NOTE).map(|note| Concert(note.pitch.nearest()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{Decibels, Midi};

    fn note(onset: f64, pitch: f64) -> HeardNote {
        HeardNote {
            number: 0,
            onset: Seconds(onset),
            release: Seconds(onset),
            pitch: Midi(pitch),
            spread: None,
            loudness: Decibels(-20.0),
            confidence: 0.9,
            announced: Seconds(onset + 0.03),
            announced_pitch: Midi(pitch),
        }
    }

    #[test]
    fn only_a_note_that_is_held_is_an_answer() {
        let mut held = HeldNote::default();
        assert_eq!(held.hear(&[NoteEvent::On(note(0.0, 57.0))], Seconds(0.4)), None, "a passing note");
        assert_eq!(held.hear(&[NoteEvent::Off(note(0.0, 57.0))], Seconds(1.2)), None, "it is over");
        assert_eq!(held.hear(&[NoteEvent::On(note(1.3, 54.1))], Seconds(2.2)), None);
        assert_eq!(held.hear(&[NoteEvent::Revised(note(1.3, 53.9))], Seconds(2.4)), Some(Concert(54)));
    }

    #[test]
    fn a_line_of_ones_own_goes_on_while_a_note_sounds_and_ends_two_seconds_after_the_last() {
        let end = AnswerEnd::unasked(Seconds(0.0), SILENCE, FIRST_NOTE);
        let mut line = LineSoFar::default();
        assert_eq!(end.at(Seconds(119.0), line.so_far()), Silence::Waiting);
        line.hear(&NoteEvent::On(note(1.0, 60.0)));
        assert_eq!(end.at(Seconds(9.0), line.so_far()), Silence::Sounding);
        line.hear(&NoteEvent::Off(HeardNote { release: Seconds(9.5), ..note(1.0, 60.0) }));
        assert_eq!(end.at(Seconds(11.4), line.so_far()), Silence::Sounding);
        assert_eq!(end.at(Seconds(11.5), line.so_far()), Silence::Ended);
    }
}
