//! Whether the player stopped within the line, went back a few notes and took it up again from there.
//!
//! The notes that were played again are taken out, what follows is put to where they stood, and the rest is judged as a line that was played
//! straight on: what went wrong before and after is told at its place, and in its time.

use super::align::ScoreNote;
use super::by_pitch::ByPitch;
use super::performed::{FollowedBy, PerformedNote};
use super::{Expectation, NoteVerdict, PlayedLabel, TakenUp, Verdict};
use crate::notes::HeardNote;
use crate::units::{Seconds, median, rank};

/// An answer may go back so often.
pub(super) const DEEP: u32 = 3;
/// So many ways in which an answer may have gone back are judged.
const WAYS: usize = 6;
/// Who stopped waited longer than the line asks by more than this.
const STOPPED: Seconds = Seconds(0.3);
/// Where so much silence came before, a wait of that length is a stop: less is the silence between two strokes of a note.
const SILENT: Seconds = Seconds(0.15);
/// Who goes back without a stop repeats so many notes, or more: fewer are notes too many.
const REPEATED: usize = 2;

/// Whether the player stopped, who was silent for so long and waited so much longer than the line asks.
#[must_use]
pub fn stopped(silent: Seconds, waited: Seconds) -> bool {
    waited > STOPPED || waited > SILENT && silent >= SILENT
}

/// One way in which an answer may have gone back.
#[derive(Debug)]
pub(super) struct GoneBack {
    /// The heard notes that were played again later, by their places among those heard.
    first_time: Vec<usize>,
    /// From this instant on all that was heard belongs to the line as it was taken up.
    from: Seconds,
    /// How much later the line was taken up than it had been there before.
    later: Seconds,
    /// Whether the player stopped before.
    stopped: bool,
    /// How many of the notes that were played again were not right the first time.
    wrong: usize,
}

impl GoneBack {
    /// The places of the heard notes that are left, among all that were heard.
    fn kept(&self, all: usize) -> impl Iterator<Item = usize> {
        (0..all).filter(|n| !self.first_time.contains(n))
    }

    /// What was heard without the notes that were played again, and without the time that it took.
    pub fn without(&self, heard: &[HeardNote]) -> Vec<HeardNote> {
        let one = |n: usize| {
            let mut note = heard[n];
            if note.onset >= self.from {
                (note.onset, note.release) = (note.onset - self.later, note.release - self.later);
                note.announced = note.announced - self.later;
            }
            note
        };
        self.kept(heard.len()).map(one).collect()
    }

    /// The verdict on an answer that went back in this way, made of that on what was kept; `None` where it explains no more than `straight_on`,
    /// the verdict on the same answer as a line that was played straight on.
    pub fn judged(&self, straight_on: &Verdict, inner: Verdict) -> Option<Verdict> {
        let gain = if self.stopped { 1 } else { REPEATED as u32 };
        if !inner.related || !inner.in_key() || errors(&inner) + gain > errors(straight_on) {
            return None;
        }
        let all = straight_on.played.len();
        let places: Vec<usize> = self.kept(all).collect();
        let mut played = vec![PlayedLabel::Earlier; all];
        for (place, label) in places.iter().zip(&inner.played) {
            played[*place] = *label;
        }
        let expected: Vec<NoteVerdict> =
            inner.expected.iter().map(|note| NoteVerdict { heard: note.heard.map(|n| places[n]), ..*note }).collect();
        let before = inner.taken_up();
        let attempts = inner.attempts.max(2);
        let judged = Verdict { expected, played, attempts, enough_in_format_1: false, ..inner };
        // Notes played again one behind the other are told apart only where both times the line was taken up from one note.
        let now = judged.taken_up();
        let apart = now.len() == before.len() + 1;
        let alike = now.len() == before.len() && now.iter().zip(&before).all(|(now, it)| now.from == it.from);
        (apart || alike).then_some(judged)
    }
}

/// Number of notes that are not right, left out or too many; all of them where the answer is no attempt.
pub(super) fn errors(verdict: &Verdict) -> u32 {
    verdict.of.saturating_sub(verdict.right) + verdict.extra
}

/// The ways in which an answer may have gone back: first those in which all was right before, then those with a stop, the longest first; of
/// others the one that went on for longest.
pub(super) fn ways(asked: &Expectation, by_pitch: &ByPitch, heard: &[HeardNote]) -> Vec<GoneBack> {
    let own: Vec<&PerformedNote> = by_pitch.notes.iter().filter(|note| !note.stray).collect();
    let begins = (0..own.len()).filter(|n| *n == 0 || own[*n - 1].next == FollowedBy::AfterGap);
    let ways = begins.flat_map(|begin| {
        let own = &own[begin..];
        let octaves = by_pitch.places.first().map_or(0.0, |first| ((own[0].pitch - first.pitch) / 12.0).round());
        let (places, right, up) = (&by_pitch.places, by_pitch.right, 12.0 * octaves);
        LinePlaces { places, right, up, beat_s: asked.tempo.beat().0 }.ways(own, heard)
    });
    let mut found: Vec<(f64, GoneBack)> = ways.collect();
    found.sort_by_cached_key(|(first, way)| (way.wrong, !way.stopped, rank(-first)));
    found.truncate(WAYS);
    found.into_iter().map(|(_, way)| way).collect()
}

struct LinePlaces<'a> {
    places: &'a [ScoreNote],
    right: f64,
    /// How far the answer is moved, in half steps: whole octaves.
    up: f64,
    beat_s: f64,
}

impl LinePlaces<'_> {
    /// Whether a note has the pitch of this place.
    fn fits(&self, note: &PerformedNote, place: usize) -> bool {
        self.places.get(place).is_some_and(|it| (note.pitch - it.pitch - self.up).abs() < self.right)
    }

    /// How many of these notes are right from this place on.
    fn right(&self, notes: &[&PerformedNote], from: usize) -> usize {
        notes.iter().enumerate().filter(|(n, note)| self.fits(note, from + n)).count()
    }

    /// How long a beat lasted in these notes of the line, in the middle of them, seconds.
    fn beat_s(&self, notes: &[&PerformedNote]) -> f64 {
        let beats = self.places.windows(2).map(|two| two[1].beats - two[0].beats);
        let apart = notes.windows(2).map(|two| two[1].onset_s - two[0].onset_s);
        let each: Vec<f64> = beats.zip(apart).filter(|it| it.0 > 0.0).map(|(beats, apart_s)| apart_s / beats).collect();
        median(&each).unwrap_or(self.beat_s)
    }

    /// The ways in which a line that begins with the first of these notes may have gone back, each with the time by which the player stopped
    /// longer than the line asks, seconds, or with the number of notes played before.
    fn ways(&self, own: &[&PerformedNote], heard: &[HeardNote]) -> Vec<(f64, GoneBack)> {
        let mut found = Vec::new();
        for after in 2..own.len().min(self.places.len() + 1) {
            if 3 * self.right(&own[..after], 0) < 2 * after {
                continue;
            }
            let (last, next) = (own[after - 1], own[after]);
            let silence_s = next.onset_s - last.onset_s - last.length_s;
            let two = after.min(self.places.len() - 1);
            let asks = self.places[two].beats - self.places[two - 1].beats;
            let waited_s = next.onset_s - last.onset_s - self.beat_s(&own[..after]) * asks;
            let stopped = stopped(Seconds(silence_s), Seconds(waited_s));
            for from in 1..after {
                let (again, on) = (&own[from..after], &own[after..]);
                let seen = &on[..on.len().min(again.len() + 1).min(self.places.len() - from)];
                let right = self.right(again, from);
                let enough = if stopped { 2 * right >= again.len() } else { right == again.len() };
                let repeats = enough && (stopped || right >= REPEATED);
                if repeats && self.fits(next, from) && 3 * self.right(seen, from) >= 2 * seen.len() {
                    let way = GoneBack {
                        first_time: again.iter().map(|note| note.heard).collect(),
                        from: heard[next.heard].onset,
                        later: Seconds(next.onset_s - own[from].onset_s),
                        stopped,
                        wrong: again.len() - right,
                    };
                    found.push((if stopped { waited_s } else { after as f64 }, way));
                }
            }
        }
        found
    }
}

impl Verdict {
    /// Where the player went back within the attempt that is judged, in the order of the line.
    #[must_use]
    pub fn taken_up(&self) -> Vec<TakenUp> {
        let mut found: Vec<TakenUp> = Vec::new();
        let begun = self.expected.iter().filter_map(|note| note.heard).min();
        let earlier = (0..self.played.len()).filter(|n| self.played[*n] == PlayedLabel::Earlier);
        for note in earlier.filter(|n| begun.is_some_and(|begun| begun < *n)) {
            let next = self.expected.iter().position(|it| it.heard.is_some_and(|heard| heard > note));
            let Some(from) = next else { continue };
            match found.last_mut().filter(|it| it.from == from) {
                Some(before) => before.notes.push(note),
                None => found.push(TakenUp { from, notes: vec![note] }),
            }
        }
        found
    }

    /// Whether an earlier attempt at the line, from its beginning, was given up.
    #[must_use]
    pub fn begun_anew(&self) -> bool {
        self.attempts > 1 && {
            let begun = self.expected.iter().filter_map(|note| note.heard).min();
            let lead = self.played.iter().position(|label| *label == PlayedLabel::Earlier);
            lead.is_none() || begun.is_none() || lead < begun
        }
    }
}
