use super::align::{Alignment, ScoreNote, Table, View};
use super::by_pitch::ByPitch;
use super::clock::{self, PulseFit};
use super::cost::{self, Distance};
use super::performed::{FollowedBy, PerformedNote};
use super::slip::{SLIPPED, scale_steps};
use crate::music::HalfSteps;
use crate::units::median;

/// A fitted clock counts only where its pace, as a multiple of the asked one, lies in this range.
pub(super) const PACE: std::ops::Range<f64> = 0.38..2.9;
/// Least number of matched notes through which a clock can be fitted.
const TIMED: usize = 3;
/// Largest general tuning offset that is taken out of an answer, in half steps, up or down; a larger one is cut to this.
pub(super) const MOST_TUNING: f64 = 0.45;
/// Number of shifts for which tuning and clock are estimated.
const LIKELY: usize = 3;
/// The graded attempt is tried from so many of the last places where one may begin, and from the first.
const STARTS: usize = 4;
/// Two estimates of when beat 0 fell support each other where they are this near, and a note is in time for its place, in beats.
const AGREE: f64 = 0.25;

/// One explanation of an answer: its shift, its tuning, its clock, and which heard note answers which expected one.
#[derive(Debug, Clone)]
pub(super) struct Hypothesis {
    /// How far the whole answer is moved, half steps.
    pub shift: i32,
    /// The general tuning offset, half steps.
    pub tuning: f64,
    /// The clock fitted through the matched notes; `None` under three of them, and where no clock within reason fits.
    pub clock: Option<PulseFit>,
    /// The pairs of an expected note and the heard note that answers it.
    pub alignment: Alignment,
    /// Whether the answer is the line, in which a hand slipped, with two notes at most that are wrong otherwise.
    pub slips: bool,
    /// How far a right note may lie from its pitch, half steps.
    right: f64,
}

impl Hypothesis {
    /// From the shifted and tuned pitch of a place to a heard note, half steps.
    pub fn half_steps(&self, place: &ScoreNote, note: &PerformedNote) -> f64 {
        note.pitch - place.pitch - f64::from(self.shift) - self.tuning
    }

    /// Whether the heard note is right, another octave or wrong for the place.
    pub fn kind(&self, place: &ScoreNote, note: &PerformedNote) -> Distance {
        cost::kind(self.half_steps(place, note), self.right)
    }
}

/// Settles on one hypothesis. For each of the likeliest shifts by pitch alone, tuning and clock are estimated, from the first and
/// the last few places where the graded attempt may begin, with no clock at first and with the asked pace. The cheapest hypothesis
/// wins; ties go to the smaller shift.
pub(super) fn settle(by_pitch: &ByPitch) -> Hypothesis {
    let (places, notes) = (&by_pitch.places, &by_pitch.notes);
    let mut search = Search { table: Table::new(by_pitch.view(0)), places, notes, beat_s: by_pitch.beat_s };
    let mut likely: Vec<(f64, i32, Alignment)> = by_pitch
        .alignments()
        .map(|(shift, alignment)| (alignment.cost + cost::shifted(shift), shift, alignment))
        .collect();
    likely.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.abs().cmp(&b.1.abs())));
    likely.truncate(LIKELY);
    let mut starts: Vec<usize> =
        (0..notes.len()).filter(|&j| j == 0 || notes[j - 1].next == FollowedBy::AfterGap).collect();
    starts.extend(last_of_whole_lines(places, notes, by_pitch.right).filter(|start| !starts.contains(start)));
    let mut tried = Vec::new();
    for (_, shift, alignment) in likely {
        tried.extend(search.slipped(shift, by_pitch.right));
        // Where the attempt can begin in one place only, the alignment need not look for its beginning.
        let view = View { lead: (starts.len() == 1).then_some(0), ..by_pitch.view(shift) };
        let mut known = vec![(view.lead, alignment.answers.clone())];
        tried.push(search.refined(shift, view, alignment));
        for &lead in starts.iter().rev().take(STARTS).chain(starts.first().filter(|_| starts.len() > STARTS)) {
            for clock in [None, search.at_asked_pace(shift, lead, view.right)] {
                let view = View { lead: Some(lead), clock, ..view };
                let alignment = search.table.align(places, notes, view);
                // The same answers from the same start come to the same hypothesis.
                let one = (view.lead, alignment.answers.clone());
                if !known.contains(&one) {
                    known.push(one);
                    tried.push(search.refined(shift, view, alignment));
                }
            }
        }
    }
    let cheapest = tried.into_iter().min_by(|a, b| {
        // Costs are compared as rounded to 1e-9, so that errors of rounding do not choose.
        let (one, other) = ((a.0 * 1e9).round(), (b.0 * 1e9).round());
        one.total_cmp(&other).then(a.1.shift.abs().cmp(&b.1.shift.abs()))
    });
    cheapest.map_or_else(|| search.unshifted(by_pitch.view(0)), |(_, hypothesis)| hypothesis)
}

/// The note with which the last try begins, where whole lines were played one after the other, perhaps without a silence, in whatever octave:
/// each begins with the first note of the line, and two of three of its notes are right at their places. `None` for any other answer.
fn last_of_whole_lines(places: &[ScoreNote], notes: &[PerformedNote], right: f64) -> Option<usize> {
    let own: Vec<usize> = (0..notes.len()).filter(|j| !notes[*j].stray).collect();
    let by = (notes[*own.first()?].pitch - places.first()?.pitch).round();
    let fits = |(place, j): (&ScoreNote, &usize)| (notes[*j].pitch - place.pitch - by).abs() < right;
    let is_try = |line: &[usize]| {
        let fit = places.iter().zip(line).filter(|pair| fits(*pair)).count();
        fits((&places[0], &line[0])) && 3 * fit >= 2 * places.len()
    };
    let lines = own.chunks(places.len());
    let whole = lines.len() > 1 && own.len().is_multiple_of(places.len()) && by % 12.0 == 0.0;
    (whole && lines.clone().all(is_try)).then(|| own[own.len() - places.len()])
}

/// The second pass: one table, begun anew for each view.
struct Search<'a> {
    table: Table,
    places: &'a [ScoreNote],
    notes: &'a [PerformedNote],
    beat_s: f64,
}

impl Search<'_> {
    /// The hypothesis by pitch alone, with no shift.
    fn unshifted(&mut self, view: View) -> Hypothesis {
        let alignment = self.table.align(self.places, self.notes, view);
        Hypothesis { shift: 0, tuning: 0.0, clock: None, alignment, slips: false, right: view.right }
    }

    /// Estimates the tuning from the right notes of an alignment and the clock from all its matched notes, and aligns again, up to twice;
    /// gives the total cost and the hypothesis.
    fn refined(&mut self, shift: i32, view: View, alignment: Alignment) -> (f64, Hypothesis) {
        let (places, notes) = (self.places, self.notes);
        let mut hypothesis = Hypothesis { shift, tuning: 0.0, clock: None, alignment, slips: false, right: view.right };
        for again in [false, true] {
            let before = (hypothesis.tuning, hypothesis.clock);
            hypothesis.tuning = tuning(&hypothesis, places, notes);
            hypothesis.clock = clock_of(&hypothesis, places, notes, self.beat_s);
            if again && before == (hypothesis.tuning, hypothesis.clock) {
                break;
            }
            let view = View { up: f64::from(shift) + hypothesis.tuning, clock: hypothesis.clock, ..view };
            hypothesis.alignment = self.table.align(places, notes, view);
        }
        hypothesis.clock = clock_of(&hypothesis, places, notes, self.beat_s);
        let timed = hypothesis.alignment.answers.iter().flatten().count() >= TIMED;
        let none = if timed { cost::NO_PACE } else { 0.0 };
        let pace = hypothesis.clock.map_or(none, |fit| cost::other_pace(self.beat_s / fit.beat_s));
        (hypothesis.alignment.cost + cost::shifted(shift) + pace, hypothesis)
    }

    /// The answer of a hand that slipped: as many notes came as were asked, each in time for its place, the first ones or half of all are
    /// right, and some in a row stand one distance from those asked, in half steps or in steps of the scale. That is one mistake, and costs
    /// as one, although the pitches alone may suit other places of the line as well. `None` for every other answer.
    fn slipped(&self, shift: i32, right: f64) -> Option<(f64, Hypothesis)> {
        let (places, notes) = (self.places, self.notes);
        let own: Vec<usize> = (0..notes.len()).filter(|j| !notes[*j].stray).collect();
        if own.len() != places.len() {
            return None;
        }
        let (merged, pieces) = (vec![false; places.len()], vec![false; notes.len()]);
        let answers = own.iter().map(|j| Some(*j)).collect();
        let alignment = Alignment { cost: 0.0, lead: 0, answers, merged, pieces };
        let mut hypothesis = Hypothesis { shift, tuning: 0.0, clock: None, alignment, slips: false, right };
        hypothesis.tuning = tuning(&hypothesis, places, notes);
        hypothesis.clock = clock_of(&hypothesis, places, notes, self.beat_s);
        let clock = hypothesis.clock?;
        let off = |place: usize| hypothesis.half_steps(&places[place], &notes[own[place]]);
        let in_time =
            |place: usize| (notes[own[place]].onset_s - clock.at(places[place].beats)).abs() < AGREE * clock.beat_s;
        let is_right = |place: &usize| off(*place).abs() < right;
        let fitting = (0..places.len()).filter(is_right).count();
        let begun = (0..SLIPPED.min(places.len())).all(|place| is_right(&place));
        if !(0..places.len()).all(in_time) || !begun && (fitting < SLIPPED || 2 * fitting < places.len()) {
            return None;
        }
        let by: Vec<i32> = (0..places.len()).map(|place| off(place).round() as i32).collect();
        let (mut from, mut slipped, mut cost) = (0, 0, 0.0);
        while from < places.len() {
            let moved = slip(&by[from..], &places[from..], places).filter(|count| *count >= SLIPPED);
            let to = from + moved.unwrap_or(1);
            slipped += moved.unwrap_or(0);
            cost += match moved {
                Some(count) => cost::slipped(count),
                None => cost::matched(&notes[own[from]], off(from), right),
            };
            from = to;
        }
        let timed = |place: usize| cost::off_the_clock(Some(clock), &notes[own[place]], places[place].beats);
        cost += (0..places.len()).map(timed).sum::<f64>() + cost::other_pace(self.beat_s / clock.beat_s);
        cost += notes.iter().filter(|note| note.stray).map(cost::unasked).sum::<f64>() + cost::shifted(shift);
        hypothesis.alignment.cost = cost;
        hypothesis.slips = fitting + slipped + SLIPPED > places.len();
        (slipped > 0).then_some((cost, hypothesis))
    }

    /// The clock at the asked pace with the start on which most pairs of an expected and a heard note of equal pitch agree; strays have no
    /// voice. `None` where no pair has equal pitch.
    fn at_asked_pace(&self, shift: i32, lead: usize, right: f64) -> Option<PulseFit> {
        let starts: Vec<f64> = self.notes[lead..]
            .iter()
            .filter(|note| !note.stray)
            .flat_map(|note| self.places.iter().map(move |place| (place, note)))
            .filter(|(place, note)| (note.pitch - place.pitch - f64::from(shift)).abs() < right)
            .map(|(place, note)| note.onset_s - self.beat_s * place.beats)
            .collect();
        let near = AGREE * self.beat_s;
        let votes = |at: f64| starts.iter().map(|start| (1.0 - (start - at).abs() / near).max(0.0)).sum::<f64>();
        let start_s = starts.iter().copied().max_by(|a, b| votes(*a).total_cmp(&votes(*b)))?;
        Some(PulseFit { start_s, beat_s: self.beat_s })
    }
}

/// How many notes from the first on a hand that slipped has played, where their distances from the notes asked are `by`, half steps: notes
/// at one distance, or at one number of steps of the scale, which is that of the `line`. `None` where the first note is right.
fn slip(by: &[i32], asked: &[ScoreNote], line: &[ScoreNote]) -> Option<usize> {
    let first = *by.first().filter(|by| **by != 0)?;
    let alike = by.iter().take_while(|it| **it == first).count();
    let of_scale = |pitch: f64| line.iter().any(|note| (note.pitch - pitch).rem_euclid(12.0).round() as i32 % 12 == 0);
    let steps = scale_steps(HalfSteps(first));
    let scale = by.iter().zip(asked).take_while(|(it, note)| {
        steps.is_some() && scale_steps(HalfSteps(**it)) == steps && of_scale(note.pitch + f64::from(**it))
    });
    Some(alike.max(scale.count()))
}

/// The median distance of the right notes from the shifted pitches of their places, cut to `MOST_TUNING`; the tuning as it was where fewer
/// than three notes are right.
fn tuning(hypothesis: &Hypothesis, places: &[ScoreNote], notes: &[PerformedNote]) -> f64 {
    let residuals: Vec<f64> = pairs(hypothesis, places, notes)
        .filter(|(place, note)| hypothesis.kind(place, note) == Distance::Right)
        .map(|(place, note)| hypothesis.half_steps(place, note) + hypothesis.tuning)
        .collect();
    if residuals.len() < 3 {
        hypothesis.tuning
    } else {
        median(&residuals).unwrap_or(0.0).clamp(-MOST_TUNING, MOST_TUNING)
    }
}

/// The clock through all matched notes; `None` under three of them, and where its pace is not within reason.
fn clock_of(hypothesis: &Hypothesis, places: &[ScoreNote], notes: &[PerformedNote], beat_s: f64) -> Option<PulseFit> {
    let points: Vec<(f64, f64)> =
        pairs(hypothesis, places, notes).map(|(place, note)| (place.beats, note.onset_s)).collect();
    if points.len() < TIMED {
        return None;
    }
    clock::fit(&points).filter(|fit| PACE.contains(&(beat_s / fit.beat_s)))
}

fn pairs<'a>(
    hypothesis: &'a Hypothesis,
    places: &'a [ScoreNote],
    notes: &'a [PerformedNote],
) -> impl Iterator<Item = (&'a ScoreNote, &'a PerformedNote)> {
    places.iter().zip(&hypothesis.alignment.answers).filter_map(|(place, answer)| answer.map(|j| (place, &notes[j])))
}
