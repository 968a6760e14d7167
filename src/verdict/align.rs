use super::clock::PulseFit;
use super::cost::{self, Distance};
use super::performed::{FollowedBy, PerformedNote};

/// One expected note as the alignment looks at it.
#[derive(Debug, Clone, Copy)]
pub(super) struct ScoreNote {
    /// Note number in concert pitch.
    pub pitch: f64,
    /// Place in the line, in beats.
    pub beats: f64,
}

/// How heard pitches and onsets are looked at while aligning.
#[derive(Debug, Clone, Copy)]
pub(super) struct View {
    /// How far the whole answer is moved, tuning included, in half steps.
    pub up: f64,
    /// How far a right note may lie from its pitch, in half steps.
    pub right: f64,
    /// The clock of the answer; `None` while it is not known.
    pub clock: Option<PulseFit>,
    /// The beat to count lengths in while the clock is not known, seconds.
    pub beat_s: f64,
    /// Number of heard notes that are taken for an earlier attempt; `None` where the cheapest number is looked for.
    pub lead: Option<usize>,
}

/// The pairs of an expected note and the heard note that answers it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Alignment {
    /// Sum of the costs of its steps.
    pub cost: f64,
    /// Number of heard notes at the start that belong to an earlier attempt.
    pub lead: usize,
    /// For each expected note, the heard note that answers it, counted in order of onsets.
    pub answers: Vec<Option<usize>>,
    /// For each expected note, whether it was held together with the one before.
    pub merged: Vec<bool>,
    /// For each heard note, whether it is a further piece of the note that answers before it.
    pub pieces: Vec<bool>,
}

/// The last step of an alignment up to a cell. The first two carry the state that the step came from.
#[derive(Debug, Clone, Copy, PartialEq)]
enum AlignmentStep {
    Missed(u8),
    Unasked(u8),
    Lead,
    Piece,
    Matched,
    /// The heard note of the expected one so many places before is held over this one.
    Merged(u8),
}

/// Number of states in which a step can end; the cost of the next step depends on the state.
const STATES: usize = 3;
/// Largest number of equal neighbours that may be played as one held note.
const MOST_MERGED: usize = 16;
/// No expected note is being missed, and the last heard note was unasked or ends an earlier attempt, or none was heard yet.
const OPEN: usize = 0;
/// The last expected note is answered: by the last heard note, or by the note of which that is a piece.
const TIED: usize = 1;
/// The last expected note was missed.
const GAP: usize = 2;

#[derive(Debug, Clone, Copy)]
struct Cell {
    cost: [f64; STATES],
    step: [AlignmentStep; STATES],
    /// Cost of the cheapest alignment that ends by matching this place with this note.
    matched: f64,
    /// The state in which the alignment was before that match.
    matched_from: u8,
}

impl Cell {
    const UNREACHED: Self = Self {
        cost: [f64::INFINITY; STATES],
        step: [AlignmentStep::Lead; STATES],
        matched: f64::INFINITY,
        matched_from: OPEN as u8,
    };
    fn offer(&mut self, state: usize, cost: f64, step: AlignmentStep) {
        if cost < self.cost[state] {
            (self.cost[state], self.step[state]) = (cost, step);
        }
    }
    fn best(&self) -> usize {
        // Where costs are equal, the note that answers wins.
        [TIED, OPEN, GAP].into_iter().min_by(|&a, &b| self.cost[a].total_cmp(&self.cost[b])).unwrap_or(OPEN)
    }
}

/// The table of the dynamic programme for one view. It has a column for the time before the first note, then one for each heard
/// note; each column has a cell for what stands before the first place, then one for each place.
///
/// A column is made of its note, the note before and the column before. It stays valid while the notes up to its own look as they
/// did. A new note costs `O(places)`: its own column, and that of the note which was the last until then.
#[derive(Debug, Clone)]
pub(super) struct Table {
    view: View,
    cells: Vec<Cell>,
}

impl Table {
    /// A table without columns.
    pub fn new(view: View) -> Self {
        Self { view, cells: Vec::new() }
    }

    /// Takes back the columns of all but the first `notes` notes.
    pub fn cut_back(&mut self, places: &[ScoreNote], notes: usize) {
        self.cells.truncate((notes + 1) * (places.len() + 1));
    }

    /// Appends the columns that are not there yet.
    pub fn fill(&mut self, places: &[ScoreNote], notes: &[PerformedNote]) {
        let height = places.len() + 1;
        self.cells.reserve(height * (notes.len() + 1) - self.cells.len());
        for j in self.cells.len() / height..=notes.len() {
            for i in 0..height {
                let cell = if i == 0 { self.unbegun(j, height, notes) } else { self.cell(i, j, places, notes) };
                self.cells.push(cell);
            }
        }
    }

    /// The cheapest alignment of the heard notes by pitch and time, never by position (alignment by dynamic programming after
    /// Needleman and Wunsch 1970, with gaps that cost to open after Gotoh 1982, both from memory): `O(places * notes)`. The
    /// memory of the table is used again.
    pub fn align(&mut self, places: &[ScoreNote], notes: &[PerformedNote], view: View) -> Alignment {
        self.view = view;
        self.cells.clear();
        self.fill(places, notes);
        self.trace(places.len(), notes.len())
    }

    /// The first row: before any expected note there are only strays, extra notes, or an earlier attempt.
    fn unbegun(&self, j: usize, height: usize, notes: &[PerformedNote]) -> Cell {
        let mut cell = Cell::UNREACHED;
        let leads = self.view.lead.is_none_or(|lead| lead == j);
        if j == 0 {
            if leads {
                cell.offer(OPEN, 0.0, AlignmentStep::Lead);
            }
            return cell;
        }
        let (note, left) = (&notes[j - 1], &self.cells[(j - 1) * height]);
        cell.offer(OPEN, left.cost[OPEN] + cost::unasked(note), AlignmentStep::Unasked(OPEN as u8));
        if leads && (note.next == FollowedBy::AfterGap || self.view.lead.is_some()) {
            cell.offer(OPEN, cost::earlier(j), AlignmentStep::Lead);
        }
        cell
    }

    fn cell(&self, i: usize, j: usize, places: &[ScoreNote], notes: &[PerformedNote]) -> Cell {
        let height = places.len() + 1;
        let at = j * height + i;
        let mut cell = Cell::UNREACHED;
        let above = &self.cells[at - 1];
        let breaks_off = j > 0 && notes[j - 1].next == FollowedBy::Nothing;
        let opens = if breaks_off { 0.0 } else { cost::GAP_OPENS };
        for (state, open) in [(OPEN, opens), (TIED, opens), (GAP, 0.0)] {
            cell.offer(GAP, above.cost[state] + cost::MISSED + open, AlignmentStep::Missed(state as u8));
        }
        if j == 0 {
            return cell;
        }
        let (note, place, view) = (&notes[j - 1], &places[i - 1], self.view);
        let corner = &self.cells[at - height - 1];
        let state = corner.best();
        cell.matched = corner.cost[state]
            + cost::matched(note, note.pitch - place.pitch - view.up, view.right)
            + cost::off_the_clock(view.clock, note, place.beats);
        cell.matched_from = state as u8;
        cell.offer(TIED, cell.matched, AlignmentStep::Matched);
        let left = &self.cells[at - height];
        if note.piece && !self.stands_alone(i, note, &notes[j - 2], places) {
            cell.offer(TIED, left.cost[TIED] + cost::PIECE, AlignmentStep::Piece);
        }
        for (from, to) in [(OPEN, OPEN), (TIED, OPEN), (GAP, GAP)] {
            cell.offer(to, left.cost[from] + cost::unasked(note), AlignmentStep::Unasked(from as u8));
        }
        self.offer_merged(&mut cell, i, at, note, places);
        cell
    }

    /// Whether a second onset comes so late after the first that it is a note of its own, not a piece; never while the clock is not
    /// known, nor at the last place.
    fn stands_alone(&self, i: usize, note: &PerformedNote, host: &PerformedNote, places: &[ScoreNote]) -> bool {
        let (Some(clock), Some(next)) = (self.view.clock, places.get(i)) else { return false };
        note.onset_s - host.onset_s > cost::ALONE * clock.beat_s * (next.beats - places[i - 1].beats)
    }

    /// Offers equal neighbours as one long held note: the right note of the first neighbour stands for the others too.
    fn offer_merged(&self, cell: &mut Cell, i: usize, at: usize, note: &PerformedNote, places: &[ScoreNote]) {
        let (place, view) = (&places[i - 1], self.view);
        if cost::kind(note.pitch - place.pitch - view.up, view.right) != Distance::Right {
            return;
        }
        let beat_s = view.clock.map_or(view.beat_s, |fit| fit.beat_s);
        for back in 1..i.min(MOST_MERGED) {
            let first = places[i - 1 - back];
            if first.pitch != place.pitch {
                break;
            }
            let last_gap = place.beats - places[i - 2].beats;
            let needs_s = (place.beats - first.beats + cost::HELD_OVER * last_gap) * beat_s;
            if note.length_s > needs_s {
                let merged = self.cells[at - back].matched + cost::MERGED * back as f64;
                cell.offer(TIED, merged, AlignmentStep::Merged(back as u8));
            }
        }
    }

    /// The cheapest alignment in a table that was filled for so many places and notes.
    pub fn trace(&self, places: usize, notes: usize) -> Alignment {
        let height = places + 1;
        let (mut i, mut j, mut lead) = (places, notes, 0);
        let last = &self.cells[notes * height + places];
        let mut state = last.best();
        let cost = last.cost[state];
        let (mut answers, mut merged, mut pieces) = (vec![None; places], vec![false; places], vec![false; notes]);
        while i > 0 || j > 0 {
            let cell = &self.cells[j * height + i];
            match cell.step[state] {
                AlignmentStep::Lead => {
                    lead = j;
                    break;
                }
                AlignmentStep::Missed(from) => (i, state) = (i - 1, usize::from(from)),
                AlignmentStep::Unasked(from) => (j, state) = (j - 1, usize::from(from)),
                AlignmentStep::Piece => {
                    j -= 1;
                    pieces[j] = true;
                }
                AlignmentStep::Matched => {
                    state = usize::from(cell.matched_from);
                    (i, j) = (i - 1, j - 1);
                    answers[i] = Some(j);
                }
                AlignmentStep::Merged(back) => {
                    let back = usize::from(back);
                    merged[i - back..i].fill(true);
                    state = usize::from(self.cells[j * height + i - back].matched_from);
                    (i, j) = (i - back - 1, j - 1);
                    answers[i] = Some(j);
                }
            }
        }
        Alignment { cost, lead, answers, merged, pieces }
    }
}
