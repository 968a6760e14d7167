use std::collections::VecDeque;

use crate::cue::CueSound;
use crate::notes::{Ear, EarSettings, Frame, HeardNote, NoteEvent};
use crate::room::{Echo, Owner};
use crate::sound::{Placement, SoundBlock};
use crate::units::{SampleRate, Seconds};

/// Holes shorter than this are heard as silence; after longer ones the ear begins anew.
pub(super) const BRIDGED: Seconds = Seconds(0.25);
/// Longest time for which the place of a cue that was ordered is waited for.
const AWAITED: Seconds = Seconds(1.5);
/// Number of newest notes whose owner is remembered: nothing more is said about older ones.
const REMEMBERED: usize = 8;

/// Echo and ear in a row: the one way from the input's samples to the player's notes, for every command that listens.
///
/// Instants are on the input's clock; numbers of notes go on where the ear had to begin anew.
pub struct PlayerEar {
    ear: Ear,
    settings: EarSettings,
    echo: Echo,
    /// Instant of the ear's own zero on the input's clock.
    zero: Seconds,
    /// Number that the ear's first note since it began anew has, so that numbers go on.
    first_number: u32,
    next_number: u32,
    /// Numbers of the newest notes whose owner is known, and whether the owner is the player.
    owned: VecDeque<(u32, bool)>,
    /// The latest event of each note whose owner is not known yet, in order.
    waiting: Vec<NoteEvent>,
    /// When a cue was ordered whose place is not known yet.
    awaited: Option<Seconds>,
    now: Seconds,
    /// What the ear was given of the newest stretch, and the instant of its first sample.
    clean: Vec<f32>,
    clean_at: Seconds,
    said: Vec<NoteEvent>,
    events: Vec<NoteEvent>,
}

impl PlayerEar {
    /// An ear to which nothing has sounded yet; `echo` takes our own cue out of the sound.
    #[must_use]
    pub fn new(settings: EarSettings, echo: Echo) -> Self {
        Self {
            ear: Ear::new(&settings),
            settings,
            echo,
            zero: Seconds(0.0),
            first_number: 0,
            next_number: 0,
            owned: VecDeque::with_capacity(REMEMBERED),
            waiting: Vec::new(),
            awaited: None,
            now: Seconds(0.0),
            clean: Vec::new(),
            clean_at: Seconds(0.0),
            said: Vec::new(),
            events: Vec::new(),
        }
    }

    /// What the ear is built for; the rate is that of the newest block.
    #[must_use]
    pub const fn settings(&self) -> EarSettings {
        self.settings
    }

    /// Rate of the input.
    #[must_use]
    pub const fn rate(&self) -> SampleRate {
        self.settings.rate
    }

    /// What was learned of our own cue in the microphone.
    #[must_use]
    pub const fn echo(&self) -> &Echo {
        &self.echo
    }

    /// By how much later than they should our cues come back; as [`Echo::moved`].
    pub fn moved(&mut self) -> Option<Seconds> {
        self.echo.moved()
    }

    /// Time from one frame of the ear to the next.
    #[must_use]
    pub fn stride(&self) -> Seconds {
        self.ear.stride()
    }

    /// Instant of the first sample that the ear heard, since it last began anew.
    #[must_use]
    pub const fn zero(&self) -> Seconds {
        self.zero
    }

    /// The instant after the newest sample.
    #[must_use]
    pub const fn now(&self) -> Seconds {
        self.now
    }

    /// The newest stretch as the ear got it: the instant of its first sample, and the samples without our own cue.
    #[must_use]
    pub fn clean(&self) -> (Seconds, &[f32]) {
        (self.clean_at, &self.clean)
    }

    /// A cue was ordered and will be placed soon: what begins to sound meanwhile may be ours.
    pub fn await_cue(&mut self) {
        self.awaited = Some(self.now);
    }

    /// A cue is sounded: `sound` is rendered at the input's rate, and comes back at `place` on the input's clock.
    pub fn cue(&mut self, sound: &CueSound, place: Placement) {
        self.awaited = None;
        self.echo.cue(sound, place);
    }

    /// Signs are sounded: as [`cue`](Self::cue), but they do not show whether our sound comes back.
    pub fn signs(&mut self, sound: &CueSound, place: Placement) {
        self.awaited = None;
        self.echo.signs(sound, place);
    }

    /// A band is sounded and goes on while the player plays: as [`cue`](Self::cue). Nobody answers in its lead-in.
    pub fn band(&mut self, sound: &CueSound, place: Placement, lead_in: Seconds) {
        self.awaited = None;
        self.echo.band(sound, place, lead_in);
    }

    /// What sounds is cut off.
    pub fn hush(&mut self) {
        self.awaited = None;
        self.echo.hush();
    }

    /// Hears a stretch of sound; gives what became known of the player's notes. `on_frame` gets every frame of the ear.
    pub fn hear(&mut self, stretch: SoundBlock, samples: &[f32], on_frame: &mut dyn FnMut(&Frame)) -> &[NoteEvent] {
        self.events.clear();
        if stretch.rate != self.settings.rate || stretch.gap.0 > BRIDGED.0 || self.unplaced(stretch) {
            self.begin_anew(stretch);
        } else {
            // The input's clock is a fitted line, the ear counts samples: between cues they part by millionths, and the
            // notes to come are placed by the line.
            self.zero = stretch.at - stretch.gap - self.echo_delay() - self.ear.now();
        }
        self.clean.clear();
        let bridged = stretch.gap.0 > 0.0 && stretch.gap.0 <= BRIDGED.0;
        self.clean_at = if bridged { stretch.at - stretch.gap } else { stretch.at };
        if bridged {
            self.clean.resize(stretch.rate.samples(stretch.gap), 0.0);
        }
        self.clean.extend_from_slice(samples);
        let delay = self.echo_delay();
        self.echo.clean(&mut self.clean, self.clean_at);
        self.clean_at = self.clean_at - delay;
        let (said, zero) = (&mut self.said, self.zero);
        let mut placed = |frame: &Frame| on_frame(&Frame { at: frame.at + zero, known: frame.known + zero, ..*frame });
        self.ear.hear(&self.clean, &mut placed, &mut |word| said.push(*word));
        self.now = stretch.at + stretch.rate.seconds(samples.len());
        self.awaited = self.awaited.filter(|ordered| self.now - *ordered < AWAITED);
        self.tell();
        self.resolve(false);
        &self.events
    }

    /// Ends the stream, and with it the note that sounds; gives what becomes known by that.
    pub fn finish(&mut self) -> &[NoteEvent] {
        self.events.clear();
        self.end_ear();
        &self.events
    }

    /// Whether the ear's count of samples and the input's clock have come apart by more than [`BRIDGED`], because the clock's line
    /// moved.
    fn unplaced(&self, stretch: SoundBlock) -> bool {
        let count = self.zero + self.ear.now();
        (stretch.at - stretch.gap - self.echo_delay() - count).abs().0 > BRIDGED.0
    }

    /// Length of the sound that the echo keeps back.
    fn echo_delay(&self) -> Seconds {
        self.settings.rate.seconds(self.echo.delayed())
    }

    fn end_ear(&mut self) {
        let said = &mut self.said;
        self.ear.finish(&mut |_| {}, &mut |word| said.push(*word));
        self.tell();
        self.resolve(true);
    }

    fn begin_anew(&mut self, stretch: SoundBlock) {
        self.end_ear();
        if stretch.rate == self.settings.rate {
            self.echo.lost();
        } else {
            self.echo = Echo::new(stretch.rate);
        }
        self.settings.rate = stretch.rate;
        self.ear = Ear::new(&self.settings);
        self.zero = stretch.at;
        self.first_number = self.next_number;
    }

    /// Takes in what the ear said.
    fn tell(&mut self) {
        for word in std::mem::take(&mut self.said) {
            let word = self.placed(word);
            let number = word.note().number;
            self.next_number = self.next_number.max(number + 1);
            match self.owned.iter().find(|(known, _)| *known == number) {
                Some((_, true)) => {
                    if matches!(word, NoteEvent::Off(_)) {
                        self.echo.weigh_band(word.note());
                    }
                    self.events.push(word);
                }
                Some((_, false)) => {}
                None => match self.waiting.iter_mut().find(|waiting| waiting.note().number == number) {
                    Some(waiting) => *waiting = word,
                    None => self.waiting.push(word),
                },
            }
        }
    }

    /// Hands on the notes that are known by now to be the player's; with `at_once` a note of unknown owner counts as the player's.
    fn resolve(&mut self, at_once: bool) {
        let mut waiting = std::mem::take(&mut self.waiting);
        waiting.retain(|word| {
            let note = word.note();
            let awaited = self.awaited.is_some_and(|ordered| note.onset.0 > ordered.0 - 0.05);
            let owner = if awaited {
                Owner::Unknown
            } else {
                self.echo.owner(note, matches!(word, NoteEvent::Off(_)), self.settings.a4)
            };
            if owner == Owner::Unknown && !at_once {
                return true;
            }
            if self.owned.len() == REMEMBERED {
                self.owned.pop_front();
            }
            self.owned.push_back((note.number, owner != Owner::Ours));
            if owner != Owner::Ours {
                self.events.push(NoteEvent::On(*note));
                if matches!(word, NoteEvent::Off(_)) {
                    self.events.push(*word);
                }
            }
            false
        });
        self.waiting = waiting;
    }

    /// A note on the input's clock, with a number of its own.
    fn placed(&self, said: NoteEvent) -> NoteEvent {
        let place = |note: HeardNote| HeardNote {
            number: self.first_number + note.number,
            onset: note.onset + self.zero,
            release: note.release + self.zero,
            announced: note.announced + self.zero,
            ..note
        };
        match said {
            NoteEvent::On(note) => NoteEvent::On(place(note)),
            NoteEvent::Revised(note) => NoteEvent::Revised(place(note)),
            NoteEvent::Off(note) => NoteEvent::Off(place(note)),
        }
    }
}
