use std::collections::VecDeque;

use crate::backing::comp::counted;
use crate::backing::plan::{BandNote, BandSound, Memory, Struck, chorus, end, pickup};
use crate::backing::voice::BandVoice;
use crate::backing::wish::{BandWish, CEILING, TEMPOS};
use crate::chart::Chorus;
use crate::sound::Clip;
use crate::units::{SampleIndex, Seconds, Tempo};

/// The number of bars of lead-in.
pub const LEAD_IN: u32 = 2;

/// A band that plays a form, one chorus after another; its sound is read in blocks of any size.
///
/// With each chorus the band goes on to the next of the forms it was given, and after the last to the first again.
pub struct BackingBand<D> {
    /// The choruses in turn, at least one: mostly one form in several keys.
    forms: Vec<Chorus>,
    wish: BandWish,
    draw: D,
    memory: Memory,
    /// Choruses planned so far.
    planned: u32,
    /// Beats planned so far, the lead-in included.
    beats: u64,
    /// Whether everything is planned, the end included.
    complete: bool,
    due: VecDeque<BandNote>,
    sounding: Vec<BandVoice>,
    read: u64,
}

impl<D: FnMut() -> f64> BackingBand<D> {
    /// A band for a form, which is given once for each key in which it is played. `draw` gives numbers from 0 up to 1. A tempo or level
    /// out of bounds becomes the nearest one inside. `None` where no form is given, one has no bars, or their meters differ.
    #[must_use]
    pub fn new(forms: Vec<Chorus>, wish: &BandWish, draw: D) -> Option<Self> {
        let meter = forms.first()?.meter;
        if forms.iter().any(|form| form.meter != meter || form.changes.is_empty()) {
            return None;
        }
        let tempo = Tempo(wish.tempo.0.clamp(*TEMPOS.start(), *TEMPOS.end()));
        let wish = BandWish { tempo, level: wish.level.min(CEILING), ..*wish };
        let mut band = Self {
            forms,
            wish,
            draw,
            memory: Memory::new(),
            planned: 0,
            beats: u64::from(LEAD_IN * meter),
            complete: false,
            due: VecDeque::new(),
            sounding: Vec::new(),
            read: 0,
        };
        band.lead_in();
        Some(band)
    }

    /// The sample on which a beat falls, counted from the first beat of the lead-in.
    #[must_use]
    pub fn beat(&self, beats: f64) -> SampleIndex {
        Seconds(beats * 60.0 / self.wish.tempo.0).index(self.wish.rate)
    }
    /// The sample on which the first chorus begins.
    #[cfg(test)]
    pub fn begins(&self) -> SampleIndex {
        self.beat(f64::from(LEAD_IN * self.meter()))
    }
    /// The number of all samples, lead-in and end included; `None` for a band without an end.
    #[must_use]
    pub fn length(&self) -> Option<u64> {
        let choruses = self.wish.choruses?;
        let beats: u64 = (0..choruses).map(|n| u64::from(self.form(n).beats())).sum();
        Some(self.beat((beats + u64::from((LEAD_IN + 1) * self.meter())) as f64).0)
    }
    /// All that the band plays, from the first beat of the lead-in on; an empty clip for a band without an end.
    #[must_use]
    pub fn whole(mut self) -> Clip {
        let mut clip = Clip { rate: self.wish.rate, samples: vec![0.0; self.length().unwrap_or(0) as usize] };
        self.read(&mut clip.samples);
        clip
    }
    /// The number of notes that are planned and have not begun.
    #[cfg(test)]
    pub fn waiting(&self) -> usize {
        self.due.len()
    }
    fn meter(&self) -> u32 {
        self.forms.first().map_or(4, |form| form.meter)
    }
    fn form(&self, chorus: u32) -> &Chorus {
        // `new` makes no band without a form, so this does not divide by zero.
        &self.forms[chorus as usize % self.forms.len()]
    }

    /// Fills `out` with the next samples, silence after the end. Returns the notes that begin in them, in order.
    pub fn read(&mut self, out: &mut [f32]) -> Vec<BandNote> {
        out.fill(0.0);
        let (from, to) = (self.read, self.read + out.len() as u64);
        let begun = self.begin(to);
        self.sounding.extend(begun.iter().map(|note| BandVoice::new(note, self.wish.a4, self.wish.rate)));
        let level = self.wish.level.amplitude();
        for voice in &mut self.sounding {
            voice.add(from, level, self.wish.rate, out);
        }
        self.sounding.retain(|voice| !voice.over());
        self.read = to;
        begun
    }

    /// Skips this many samples without making them. Returns the notes that begin in them; these do not sound.
    #[cfg(test)]
    pub fn skip(&mut self, samples: u64) -> Vec<BandNote> {
        self.read += samples;
        self.sounding.clear();
        self.begin(self.read)
    }

    /// Takes out the notes that begin before sample `to`, after planning the choruses up to there.
    fn begin(&mut self, to: u64) -> Vec<BandNote> {
        while !self.complete && self.beat(self.beats as f64).0 < to {
            self.plan();
        }
        let count = self.due.partition_point(|note| note.at.0 < to);
        self.due.drain(..count).collect()
    }

    fn lead_in(&mut self) {
        let meter = self.meter();
        for beat in counted(meter) {
            let first = beat % meter == 0;
            self.push(0.0, &[Struck { at: f64::from(beat), beats: 0.5, sound: BandSound::Click { first } }]);
        }
        let form = self.form(0).clone();
        let before = f64::from(LEAD_IN * meter) - f64::from(form.pickup_beats());
        let notes = pickup(&form, &self.wish, &mut self.memory, &mut self.draw);
        self.push(before, &notes);
        self.due.make_contiguous().sort_by_key(|note| note.at);
    }

    /// Plans the next chorus, or the end.
    fn plan(&mut self) {
        let from = self.beats as f64;
        if self.wish.choruses.is_some_and(|all| self.planned >= all) {
            let last = self.form(self.planned.saturating_sub(1)).clone();
            let notes = end(&last, &self.wish, &mut self.memory, &mut self.draw);
            self.push(from, &notes);
            self.complete = true;
            return;
        }
        let own = self.form(self.planned).clone();
        let goes_on = self.wish.choruses.is_none_or(|all| self.planned + 1 < all);
        let next = goes_on.then(|| self.form(self.planned + 1).clone());
        let notes = chorus(&own, next.as_ref(), &self.wish, &mut self.memory, &mut self.draw);
        self.push(from, &notes);
        self.planned += 1;
        self.beats += u64::from(own.beats());
    }

    /// Adds notes that count from beat `from` (a chorus, the lead-in, its pick-up, the end), with their places in samples.
    fn push(&mut self, from: f64, notes: &[Struck]) {
        for note in notes {
            let (at, until) = (self.beat(from + note.at), self.beat(from + note.at + note.beats));
            self.due.push_back(BandNote { at, until, sound: note.sound });
        }
    }
}
