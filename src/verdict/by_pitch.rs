use super::align::{Alignment, ScoreNote, Table, View};
use super::performed::PerformedNote;

/// Largest number of shifts that are tried because most notes vote for them. The unmoved line and the line an octave up and an octave down
/// are tried in any case.
const VOTED: usize = 6;
/// Shifts are looked for within three octaves up and down, in half steps.
const WIDEST: i32 = 36;

/// The first pass, by pitch alone, kept while an answer is heard: the unmoved line, the line an octave up and an octave down, and the most
/// voted shifts, each with a table to which every new note appends a column.
#[derive(Debug, Clone)]
pub(super) struct ByPitch {
    /// The notes asked for, in order, against which the tables are scored.
    pub places: Vec<ScoreNote>,
    /// The notes that the tables hold, in order of onset.
    pub notes: Vec<PerformedNote>,
    /// The asked beat, seconds.
    pub beat_s: f64,
    /// How far a right note may lie from its pitch, half steps.
    pub right: f64,
    /// Each shift, in half steps, with its table; the most voted shift first.
    tables: Vec<(i32, Table)>,
}

impl ByPitch {
    /// The first pass before anything was heard.
    pub fn new(places: Vec<ScoreNote>, beat_s: f64, right: f64) -> Self {
        Self { places, notes: Vec::new(), beat_s, right, tables: Vec::new() }
    }

    /// Takes in all notes heard so far. From the first note on that does not look as it did (the ear corrected it, its length became known,
    /// or another note came before or after it), the columns are taken back and made anew. Columns of new notes are added.
    pub fn hear(&mut self, notes: Vec<PerformedNote>) {
        let same = self.notes.iter().zip(&notes).take_while(|(before, now)| before == now).count();
        self.notes = notes;
        let mut kept = std::mem::take(&mut self.tables);
        for shift in voted(&self.places, &self.notes) {
            let known = kept.iter().position(|(known, _)| *known == shift);
            let mut table = known.map_or_else(|| Table::new(self.view(shift)), |place| kept.swap_remove(place).1);
            table.cut_back(&self.places, same);
            table.fill(&self.places, &self.notes);
            self.tables.push((shift, table));
        }
    }

    /// How notes are looked at for one shift: neither a clock nor the beginning of the attempt is known.
    pub fn view(&self, shift: i32) -> View {
        View { up: f64::from(shift), right: self.right, clock: None, beat_s: self.beat_s, lead: None }
    }

    /// The cheapest alignment for each shift, in half steps, the most voted first.
    pub fn alignments(&self) -> impl Iterator<Item = (i32, Alignment)> {
        self.tables.iter().map(|(shift, table)| (*shift, table.trace(self.places.len(), self.notes.len())))
    }
}

/// The shifts that get the most votes, the most voted first, then no shift and an octave up and down where these are not among them. Every
/// pair of an expected and a heard note votes for its own distance, with the more weight the nearer their places in line and answer; the
/// vote of a stray is worth a fifth.
fn voted(places: &[ScoreNote], notes: &[PerformedNote]) -> Vec<i32> {
    let mut votes = vec![0.0; 2 * WIDEST as usize + 1];
    for (i, place) in places.iter().enumerate() {
        for (j, note) in notes.iter().enumerate() {
            let shift = (note.pitch - place.pitch).round();
            if shift.abs() <= f64::from(WIDEST) {
                let apart = i as f64 / places.len() as f64 - j as f64 / notes.len() as f64;
                let weight = if note.stray { 0.2 } else { 1.0 };
                votes[(shift as i32 + WIDEST) as usize] += weight * (-2.0 * apart.abs()).exp();
            }
        }
    }
    let mut order: Vec<i32> = (-WIDEST..=WIDEST).filter(|shift| votes[(shift + WIDEST) as usize] > 0.0).collect();
    order.sort_by(|a, b| {
        votes[(b + WIDEST) as usize].total_cmp(&votes[(a + WIDEST) as usize]).then(a.abs().cmp(&b.abs()))
    });
    order.truncate(VOTED);
    for shift in [0, 12, -12] {
        if !order.contains(&shift) {
            order.push(shift);
        }
    }
    order
}
