use super::clock::Fit;
use super::cost::{self, Distance};
use super::sounded::Sounded;

/// One expected note as the alignment looks at it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Place {
    pub pitch: f64,
    pub beats: f64,
}

/// How heard pitches and onsets are looked at while aligning.
#[derive(Debug, Clone, Copy)]
pub(super) struct View {
    /// The whole answer moved by this, tuning included, in half steps.
    pub up: f64,
    /// How far a right note may lie from its pitch, in half steps.
    pub right: f64,
    /// The clock of the answer, once known.
    pub clock: Option<Fit>,
    /// The beat to count lengths in while the clock is not known, seconds.
    pub beat_s: f64,
    /// Exactly so many heard notes are an earlier attempt; `None` where the cheapest is looked for.
    pub lead: Option<usize>,
}

/// Which heard note answers which expected one.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Alignment {
    /// Sum of the costs.
    pub cost: f64,
    /// So many heard notes at the start belong to an earlier attempt.
    pub lead: usize,
    /// One an expected note: the place of a heard note in order of onsets.
    pub answers: Vec<Option<usize>>,
    /// One an expected note: held together with the one before.
    pub merged: Vec<bool>,
    /// One a heard note: a further piece of the note that answers before it.
    pub pieces: Vec<bool>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Step {
    Lead,
    Missed,
    Unasked,
    Piece,
    Matched,
    /// The heard note of the expected one so many places before is held over this one.
    Merged(u8),
}

/// What the last step left behind; costs of the next one depend on it.
const STATES: usize = 3;
/// So many equal neighbours may be held as one note.
const MOST_MERGED: usize = 16;
/// The last heard note was unasked, and no expected note is being missed.
const OPEN: usize = 0;
/// The last heard note, or the one it is a piece of, answers the last expected note.
const TIED: usize = 1;
/// The last expected note was missed.
const GAP: usize = 2;

#[derive(Debug, Clone, Copy)]
struct Cell {
    cost: [f64; STATES],
    step: [Step; STATES],
    from: [u8; STATES],
    /// Cost of matching the two notes here, and from which state.
    matched: (f64, u8),
}

impl Cell {
    const UNREACHED: Self = Self {
        cost: [f64::INFINITY; STATES],
        step: [Step::Lead; STATES],
        from: [OPEN as u8; STATES],
        matched: (f64::INFINITY, OPEN as u8),
    };
    fn offer(&mut self, state: usize, cost: f64, step: Step, from: usize) {
        if cost < self.cost[state] {
            (self.cost[state], self.step[state], self.from[state]) = (cost, step, from as u8);
        }
    }
    fn best(&self) -> usize {
        // Among equals the note that answers comes first.
        [TIED, OPEN, GAP].into_iter().min_by(|&a, &b| self.cost[a].total_cmp(&self.cost[b])).unwrap_or(OPEN)
    }
}

/// The table of the dynamic programme, kept from one alignment to the next so that memory is asked for once.
#[derive(Debug, Default)]
pub(super) struct Table {
    cells: Vec<Cell>,
}

impl Table {
    /// The cheapest account of the heard notes by pitch and time, never by position (alignment by dynamic programming after
    /// Needleman and Wunsch 1970, with gaps that cost to open after Gotoh 1982, both from memory): `O(places * notes)`.
    pub fn align(&mut self, places: &[Place], notes: &[Sounded], view: View) -> Alignment {
        let width = notes.len() + 1;
        self.cells.clear();
        self.cells.resize(width * (places.len() + 1), Cell::UNREACHED);
        self.start(notes, view.lead);
        for i in 1..=places.len() {
            for j in 0..width {
                self.cells[i * width + j] = self.cell(i, j, places, notes, view);
            }
        }
        self.trace(places.len(), notes.len())
    }

    /// The first row: before any expected note there are only strays, extra notes, or an earlier attempt.
    fn start(&mut self, notes: &[Sounded], lead: Option<usize>) {
        if lead.is_none_or(|lead| lead == 0) {
            self.cells[0].offer(OPEN, 0.0, Step::Lead, OPEN);
        }
        for (before, note) in notes.iter().enumerate() {
            let count = before + 1;
            let unasked = self.cells[before].cost[OPEN] + cost::unasked(note);
            self.cells[count].offer(OPEN, unasked, Step::Unasked, OPEN);
            let may_end = notes.get(count).is_some_and(|next| next.after_gap);
            if may_end && lead.is_none_or(|lead| lead == count) {
                self.cells[count].offer(OPEN, cost::earlier(count), Step::Lead, OPEN);
            }
        }
    }

    fn cell(&self, i: usize, j: usize, places: &[Place], notes: &[Sounded], view: View) -> Cell {
        let width = notes.len() + 1;
        let at = i * width + j;
        let mut cell = Cell::UNREACHED;
        let above = &self.cells[at - width];
        let opens = if j == notes.len() { 0.0 } else { cost::GAP_OPENS };
        for (state, open) in [(OPEN, opens), (TIED, opens), (GAP, 0.0)] {
            cell.offer(GAP, above.cost[state] + cost::MISSED + open, Step::Missed, state);
        }
        if j == 0 {
            return cell;
        }
        let (note, place) = (&notes[j - 1], places[i - 1]);
        let corner = &self.cells[at - width - 1];
        let state = corner.best();
        let matched = corner.cost[state]
            + cost::matched(note, note.pitch - place.pitch - view.up, view.right)
            + cost::off_the_clock(view.clock, note, place.beats);
        cell.matched = (matched, state as u8);
        cell.offer(TIED, matched, Step::Matched, state);
        let left = &self.cells[at - 1];
        if note.piece && !self.stands_alone(i, note, &notes[j - 2], places, view) {
            cell.offer(TIED, left.cost[TIED] + cost::PIECE, Step::Piece, TIED);
        }
        for (from, to) in [(OPEN, OPEN), (TIED, OPEN), (GAP, GAP)] {
            cell.offer(to, left.cost[from] + cost::unasked(note), Step::Unasked, from);
        }
        self.offer_merged(&mut cell, i, j, places, notes, view);
        cell
    }

    /// A second onset at least this late after the first is a note of its own, not a piece, once the clock is known.
    fn stands_alone(&self, i: usize, note: &Sounded, host: &Sounded, places: &[Place], view: View) -> bool {
        let (Some(clock), Some(next)) = (view.clock, places.get(i)) else { return false };
        note.onset_s - host.onset_s > cost::ALONE * clock.beat_s * (next.beats - places[i - 1].beats)
    }

    /// Equal neighbours held as one long note: the right note of the first stands for the others too.
    fn offer_merged(&self, cell: &mut Cell, i: usize, j: usize, places: &[Place], notes: &[Sounded], view: View) {
        let width = notes.len() + 1;
        let (note, place) = (&notes[j - 1], places[i - 1]);
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
                let merged = self.cells[(i - back) * width + j].matched.0 + cost::MERGED * back as f64;
                cell.offer(TIED, merged, Step::Merged(back as u8), OPEN);
            }
        }
    }

    fn trace(&self, places: usize, notes: usize) -> Alignment {
        let width = notes + 1;
        let (mut i, mut j, mut lead) = (places, notes, 0);
        let last = &self.cells[places * width + notes];
        let mut state = last.best();
        let cost = last.cost[state];
        let (mut answers, mut merged, mut pieces) = (vec![None; places], vec![false; places], vec![false; notes]);
        while i > 0 || j > 0 {
            let cell = &self.cells[i * width + j];
            let step = cell.step[state];
            state = usize::from(cell.from[state]);
            match step {
                Step::Lead => {
                    lead = j;
                    break;
                }
                Step::Missed => i -= 1,
                Step::Unasked => j -= 1,
                Step::Piece => {
                    j -= 1;
                    pieces[j] = true;
                }
                Step::Matched => {
                    (i, j) = (i - 1, j - 1);
                    answers[i] = Some(j);
                }
                Step::Merged(back) => {
                    let back = usize::from(back);
                    merged[i - back..i].fill(true);
                    state = usize::from(self.cells[(i - back) * width + j].matched.1);
                    (i, j) = (i - back - 1, j - 1);
                    answers[i] = Some(j);
                }
            }
        }
        Alignment { cost, lead, answers, merged, pieces }
    }
}
