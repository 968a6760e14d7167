use super::align::ScoreNote;
use super::attempts::{ATTEMPT, begun_again, given_up, looped};
use super::by_pitch::ByPitch;
use super::cost::Distance;
use super::hypothesis::{self, Hypothesis};
use super::ornament::{Ornament, ornaments};
use super::performed::{self, PerformedNote};
use super::ready::{may_be_ready, ready};
use super::score;
use super::slip::SLIPPED;
use super::taken_up::{self, GoneBack};
use super::{Expectation, NoteLabel, NoteVerdict, PlayedLabel, Verdict};
use crate::music::{HalfSteps, Intonation};
use crate::notes::HeardNote;

/// A sound that comes sooner after the beginning of a note than this is part of its attack, and one that lasts less is part of its
/// end, seconds.
const STRUCK_S: f64 = 0.05;
/// Least bound on how far a right note may lie from its pitch where intonation is scored, half steps.
const WIDEST: f64 = 0.56;
/// The second stroke of a note comes after no longer silence than this, seconds.
const STRUCK_GAP_S: f64 = 0.15;
/// A sound that is softer than the note before it by more than this is an echo of that note, dB.
const STRUCK_DB: f64 = 12.0;

/// The first of two strokes of a note is no answer to it where it lies further off its beat than this and the second nearer than half of this,
/// beats.
const EARLY: f64 = 0.2;

/// Follows one answer while it is played.
///
/// Whatever was heard before, a verdict is the same as [`judge()`] gives on the same notes: what is kept only saves time.
#[derive(Debug, Clone)]
pub struct Judge {
    asked: Expectation,
    /// The shortest distance between two notes asked for, seconds at the asked tempo; infinite for a single note.
    shortest_s: f64,
    by_pitch: ByPitch,
}

impl Judge {
    /// The judge before a note was heard.
    #[must_use]
    pub fn new(asked: Expectation) -> Self {
        let places: Vec<ScoreNote> = asked
            .line
            .notes
            .iter()
            .map(|note| ScoreNote { pitch: f64::from(note.pitch.0), beats: note.at.0 })
            .collect();
        let by_pitch = ByPitch::new(places, asked.tempo.beat().0, widest_right(asked.intonation));
        Self { shortest_s: shortest(&asked), by_pitch, asked }
    }

    /// The verdict on all that was `heard` so far, in any order: they are sorted by onset here. Nothing that can be heard makes
    /// this fail: with nothing heard every note is missed and the answer is not an attempt.
    pub fn verdict(&mut self, heard: &[HeardNote]) -> Verdict {
        self.within(heard, taken_up::DEEP)
    }

    /// The verdict, where the player may have gone back in the line up to so many times and taken it up again from there.
    fn within(&mut self, heard: &[HeardNote], times: u32) -> Verdict {
        let straight_on = self.straight_on(heard);
        if times == 0 || taken_up::errors(&straight_on) == 0 {
            return straight_on;
        }
        let ways = taken_up::ways(&self.asked, &self.by_pitch, heard);
        let judged = ways.iter().filter_map(|way: &GoneBack| {
            let inner = Judge::new(self.asked.clone()).within(&way.without(heard), times - 1);
            way.judged(&straight_on, inner)
        });
        judged.min_by_key(taken_up::errors).unwrap_or(straight_on)
    }

    /// The verdict on a line that was played straight on, or from its beginning each time.
    fn straight_on(&mut self, heard: &[HeardNote]) -> Verdict {
        self.hear(heard);
        let mut hypothesis = hypothesis::settle(&self.by_pitch);
        let (places, notes) = (&self.by_pitch.places, &self.by_pitch.notes);
        let mut labels = labels(&hypothesis, places, notes);
        if begun_in_the_asked_key(&labels, hypothesis.shift) {
            hypothesis.shift = 0;
            labels = self::labels(&hypothesis, places, notes);
        }
        hypothesis.alignment.lead = looped(&hypothesis, places, notes).unwrap_or(hypothesis.alignment.lead);
        let lead_notes = notes[..hypothesis.alignment.lead].iter().filter(|note| !note.stray).count();
        let attempts = if lead_notes >= ATTEMPT { 1 + given_up(&hypothesis, places, notes) } else { 1 };
        let lead = (attempts > 1).then_some(hypothesis.alignment.lead);
        let again = [lead, begun_again(&hypothesis, places, notes, &labels)];
        if let Some(right) = again.into_iter().flatten().find_map(|first| self.right_before(heard, first)) {
            return right;
        }
        let played = played(&hypothesis, notes, heard.len());
        if !related(&hypothesis, notes, &labels, &played) {
            return something_else(notes, labels.len(), heard.len());
        }
        let on_time = last_stroke_on_time(&mut hypothesis, places, notes);
        let ornaments = ornaments(&mut hypothesis, places, notes, self.shortest_s);
        let played =
            if ornaments.is_empty() && !on_time { played } else { self::played(&hypothesis, notes, heard.len()) };
        let expected = labels
            .iter()
            .zip(&hypothesis.alignment.answers)
            .map(|(&label, answer)| NoteVerdict {
                label,
                heard: answer.map(|j| notes[j].heard),
                cents: None,
                off_pulse: None,
            })
            .collect();
        let twice = twice(&hypothesis, notes, heard, &played, &ornaments);
        score::scored(
            &self.asked,
            heard,
            &hypothesis,
            &ornaments,
            Verdict { attempts, expected, played, twice, ..blank(hypothesis.shift) },
        )
    }

    /// The verdict on the first `lead` notes where an answer among them is all right, at whichever attempt: what was played after a right
    /// answer, the same again or in another key, is neither another attempt nor too many. `None` also where they came before anybody can have
    /// reacted, or more than half a beat early: whoever played along with the cue has not answered it yet.
    fn right_before(&self, heard: &[HeardNote], lead: usize) -> Option<Verdict> {
        let places: Vec<usize> = self.by_pitch.notes[..lead].iter().map(|note| note.heard).collect();
        let notes: Vec<HeardNote> = places.iter().map(|place| heard[*place]).collect();
        let mut first = judge(&self.asked, &notes);
        let early = first.reflex.is_some_and(|reflex| reflex.jumped)
            || first.begun.is_some_and(|begun| begun.0 < -0.5 * self.asked.tempo.beat().0);
        if !(first.right == first.of && first.extra == 0 && first.in_key()) || early {
            return None;
        }
        for note in &mut first.expected {
            note.heard = note.heard.map(|place| places[place]);
        }
        let mut played = vec![PlayedLabel::Artefact; heard.len()];
        for (place, label) in places.iter().zip(&first.played) {
            played[*place] = *label;
        }
        Some(Verdict { played, ..first })
    }

    /// The verdict on all that was `heard` so far where it may be shown at once ([`ready`]), the last note perhaps still sounding. Until
    /// the last expected note may have come, a note costs only columns of the tables by pitch, and no hypothesis is settled.
    pub fn at_once(&mut self, heard: &[HeardNote]) -> Option<Verdict> {
        self.hear(heard);
        if !may_be_ready(&self.by_pitch.places, self.by_pitch.right, heard) {
            return None;
        }
        let verdict = self.verdict(heard);
        ready(&self.asked, heard, &verdict).then_some(verdict)
    }

    fn hear(&mut self, heard: &[HeardNote]) {
        self.by_pitch.hear(performed::in_order(heard, self.shortest_s));
    }
}

/// Judges an answer whose notes have all been heard, as [`Judge::verdict`] does.
#[must_use]
pub fn judge(asked: &Expectation, heard: &[HeardNote]) -> Verdict {
    Judge::new(asked.clone()).verdict(heard)
}

/// The shortest distance between two notes asked for, seconds at the asked tempo; infinite for a single note.
fn shortest(asked: &Expectation) -> f64 {
    let gaps = asked.line.notes.windows(2).map(|pair| asked.tempo.lasting(pair[1].at - pair[0].at).0);
    gaps.filter(|gap| *gap > 0.0).fold(f64::INFINITY, f64::min)
}

/// How far a right note may lie from its pitch once the general tuning is out. Where intonation is scored this is a little more
/// than half a half step, since whoever is 55 cents flat has played that note and not the one below it.
fn widest_right(intonation: Intonation) -> f64 {
    match intonation {
        Intonation::Scored { off, .. } => (off.0 / 100.0).clamp(WIDEST, 0.6),
        Intonation::Unscored => 0.5,
    }
}

fn labels(hypothesis: &Hypothesis, places: &[ScoreNote], notes: &[PerformedNote]) -> Vec<NoteLabel> {
    let alignment = &hypothesis.alignment;
    let one = |i: usize| match alignment.answers[i] {
        _ if alignment.merged[i] => NoteLabel::Merged,
        None => NoteLabel::Missed,
        Some(j) => {
            let off = HalfSteps(hypothesis.half_steps(&places[i], &notes[j]).round() as i32);
            match hypothesis.kind(&places[i], &notes[j]) {
                Distance::Right => NoteLabel::Right,
                Distance::Octave => NoteLabel::Octave(off),
                Distance::Wrong => NoteLabel::Wrong(off),
            }
        }
    };
    (0..places.len()).map(one).collect()
}

/// Whether an answer that is right in another key or octave, `shift` half steps from the asked one, was begun where it was asked: its first
/// note is right there, or in the asked octave its first notes are, since of an octave the lowest note alone is often the one that slips. It
/// is then one line that left its key, and its beginning is no mistake.
fn begun_in_the_asked_key(labels: &[NoteLabel], shift: i32) -> bool {
    let as_asked = [NoteLabel::Wrong(HalfSteps(-shift)), NoteLabel::Octave(HalfSteps(-shift))];
    let begun = labels.iter().take_while(|label| as_asked.contains(label)).count();
    let enough = if shift % 12 == 0 { SLIPPED } else { 1 };
    begun >= enough && labels[begun..].iter().all(|label| *label == NoteLabel::Right)
}

/// Whether the first notes are right, and of all that follow some in a row, or all, stand one and the same distance from the notes asked.
fn left_its_key(labels: &[NoteLabel]) -> bool {
    let right = |labels: &[NoteLabel]| labels.iter().take_while(|label| **label == NoteLabel::Right).count();
    let (before, after) = labels.split_at(right(labels));
    let Some(first) = after.first().filter(|it| matches!(it, NoteLabel::Wrong(_) | NoteLabel::Octave(_))) else {
        return false;
    };
    let (moved, back) = after.split_at(after.iter().take_while(|label| *label == first).count());
    let begun = if back.is_empty() { 1 } else { SLIPPED };
    before.len() >= begun && moved.len() >= SLIPPED && right(back) == back.len()
}

fn played(hypothesis: &Hypothesis, notes: &[PerformedNote], count: usize) -> Vec<PlayedLabel> {
    let lead = hypothesis.alignment.lead;
    let attempt = notes[..lead].iter().filter(|note| !note.stray).count() >= ATTEMPT;
    let mut played = vec![PlayedLabel::Artefact; count];
    for (j, note) in notes.iter().enumerate() {
        played[note.heard] = if hypothesis.alignment.answers.contains(&Some(j)) {
            PlayedLabel::Note
        } else if j < lead && attempt && !note.stray {
            PlayedLabel::Earlier
        } else if j < lead || note.stray || hypothesis.alignment.pieces[j] {
            PlayedLabel::Artefact
        } else {
            PlayedLabel::Extra
        };
    }
    played
}

/// Lets the second stroke of a note answer where it lies on the beat and the first does not: that is the note asked for, and the first one came
/// too many. Gives whether there was such a note.
fn last_stroke_on_time(hypothesis: &mut Hypothesis, places: &[ScoreNote], notes: &[PerformedNote]) -> bool {
    let Some(clock) = hypothesis.clock else { return false };
    let alignment = &mut hypothesis.alignment;
    let mut found = false;
    for (place, answer) in places.iter().zip(&mut alignment.answers) {
        let Some(first) = *answer else { continue };
        let off = |j: usize| (notes[j].onset_s - clock.at(place.beats)).abs() / clock.beat_s;
        if alignment.pieces.get(first + 1) == Some(&true) && off(first) > EARLY && off(first + 1) < 0.5 * EARLY {
            *answer = Some(first + 1);
            alignment.pieces.swap(first, first + 1);
            found = true;
        }
    }
    found
}

/// Which expected notes were struck twice, each once for every stroke beyond the first: just before or after the note that answers came
/// another note of its pitch, which was not asked for. The ear is sure of both. The later one begins at least 50 ms after the earlier and after less than .15 s of silence, lasts 50 ms or
/// more, and is at most 12 dB softer: it was struck, and is no echo. A stroke of an ornament on another note strikes nothing twice.
fn twice(
    hypothesis: &Hypothesis,
    notes: &[PerformedNote],
    heard: &[HeardNote],
    played: &[PlayedLabel],
    ornaments: &[Ornament],
) -> Vec<usize> {
    let loudness = |j: usize| heard[notes[j].heard].loudness.0;
    let unasked = |j: usize| {
        let label = played[notes[j].heard];
        hypothesis.alignment.pieces[j] || matches!(label, PlayedLabel::Extra | PlayedLabel::Artefact)
    };
    let again = |earlier: usize, later: usize| {
        let (one, other) = (&notes[earlier], &notes[later]);
        !one.unsure
            && !other.unsure
            && (other.pitch - one.pitch).abs() < 0.5
            && other.onset_s - one.onset_s >= STRUCK_S
            && other.onset_s - one.onset_s - one.length_s < STRUCK_GAP_S
            && other.length_s >= STRUCK_S
            && loudness(later) >= loudness(earlier) - STRUCK_DB
    };
    // Grace notes that lead on from a note begin with its pitch: they slide, and strike nothing twice.
    let slides = |j: usize| {
        let next = notes.get(j + 1).filter(|next| next.stray && unasked(j + 1));
        notes[j].stray && next.is_some_and(|next| (next.pitch - notes[j].pitch).abs() >= 0.5)
    };
    let strokes = |(place, answer): (usize, usize)| {
        let own = |j: usize| unasked(j) && !ornaments.iter().any(|ornament| ornament.is_elsewhere(j, place));
        let after = (answer + 1..notes.len()).take_while(|&j| own(j) && again(j - 1, j) && !slides(j)).count();
        let before = (0..answer).rev().take_while(|&j| own(j) && again(j, j + 1)).count();
        let more = if hypothesis.alignment.merged[place] { 0 } else { after + before };
        std::iter::repeat_n(place, more)
    };
    let answers = hypothesis.alignment.answers.iter().enumerate();
    answers.filter_map(|(place, answer)| Some((place, (*answer)?))).flat_map(strokes).collect()
}

/// Whether an answer is an attempt at this line at all. Right notes, with those in another octave counted as half a note, must be
/// at least half of the notes that sounded, where the whole is in the asked key in whatever octave; in another key they must be
/// more than .6, with three right notes. Where not nearly all that sounded fits (.75, in another key .9), a fair part of the line
/// must be there too (.35, in another key .5) or, in the asked key where more than .6 fits, its first note: a few notes of any
/// melody are found somewhere in a line. A whole line that was begun right and then left its key, with next to no note too many, is an
/// attempt too, and so is one in which a hand slipped. What only looks like by-products of playing is no attempt, whatever its pitch.
fn related(hypothesis: &Hypothesis, notes: &[PerformedNote], labels: &[NoteLabel], played: &[PlayedLabel]) -> bool {
    let true_note = hypothesis.alignment.answers.iter().flatten().any(|&j| !notes[j].stray);
    let count = |is: fn(&NoteLabel) -> bool| labels.iter().filter(|label| is(label)).count() as f64;
    let sounded = played.iter().filter(|l| matches!(l, PlayedLabel::Note | PlayedLabel::Extra)).count() as f64;
    let right = count(|label| *label == NoteLabel::Right);
    let like = right + 0.5 * count(|label| matches!(label, NoteLabel::Octave(_)));
    let (fits, covers) = (like / sounded, like / labels.len() as f64);
    let begun = labels.first() == Some(&NoteLabel::Right);
    match hypothesis.shift % 12 {
        _ if !true_note => false,
        _ if hypothesis.slips && hypothesis.shift % 12 == 0 => true,
        0 if left_its_key(labels) && sounded <= labels.len() as f64 + 1.0 => true,
        0 => fits >= 0.5 && (fits >= 0.75 || covers >= 0.35) || fits > 0.6 && begun,
        _ => fits > 0.6 && right >= 3.0 && (fits >= 0.9 || covers >= 0.5),
    }
}

/// The verdict on what is not an attempt at the line: nothing is scored.
fn something_else(notes: &[PerformedNote], places: usize, count: usize) -> Verdict {
    let missed = NoteVerdict { label: NoteLabel::Missed, heard: None, cents: None, off_pulse: None };
    let mut played = vec![PlayedLabel::Extra; count];
    for note in notes.iter().filter(|note| note.stray) {
        played[note.heard] = PlayedLabel::Artefact;
    }
    let extra = played.iter().filter(|label| **label == PlayedLabel::Extra).count() as u32;
    Verdict { related: false, expected: vec![missed; places], played, of: places as u32, extra, ..blank(0) }
}

fn blank(shift: i32) -> Verdict {
    Verdict {
        related: true,
        shift: HalfSteps(shift),
        attempts: 1,
        expected: Vec::new(),
        played: Vec::new(),
        right: 0,
        of: 0,
        extra: 0,
        enough_in_format_1: false,
        reflex: None,
        late: None,
        pace: None,
        evenness: None,
        swing: None,
        rhythm: Vec::new(),
        stood: Vec::new(),
        twice: Vec::new(),
        untimed: None,
        begun: None,
        scatter: None,
        astray: None,
        centre: None,
        spread: None,
    }
}
