use std::collections::VecDeque;

use crate::chart::Numeral;
use crate::music::{ChordQuality, Concert, Degree, Range};
use crate::pattern::{ExpectedNote, Line, PatternId, Seam, Ticks};
use crate::phrase::figure::{EIGHTH, Figure, PieceEntry};
use crate::phrase::ground::{Ground, Harmony, UnderChord};
use crate::phrase::laying::{Draft, LaidNote, Manner, beginning, fits_its_place, has_room};
use crate::phrase::made::{NoPhrase, Phrase, WantedPiece};
use crate::phrase::stock::{Stock, StockPattern};

/// A phrase does not come again within this many phrases, where the stock is large enough.
pub const APART: usize = 40;
/// How often a whole phrase is drawn before the maker gives up.
const DRAWS: usize = 600;
/// The chance with which a phrase is drawn for the sake of something wanted, where there is something.
const WANTED: f64 = 0.4;
/// How often a phrase with something wanted is drawn before a free one is drawn in its place.
const WANTED_DRAWS: usize = 80;
/// How many patterns are tried for the next piece before the draw of the phrase has failed.
const TRIES: usize = 30;
/// The chance with which a line by half steps is passed over where the stock has other patterns: it fits every chord, and would
/// otherwise be drawn too often.
const PASSED_BY: f64 = 0.6;
/// The lengths that a phrase's last note may have, in eighths; the one drawn is tried first.
const HELD: [i64; 4] = [4, 6, 3, 2];
/// The last note of a phrase begins no sooner than after this share of the bars.
const SOONEST: f64 = 0.4;

/// Draws phrases.
pub struct PhraseMaker {
    stock: Stock,
    /// Whether the stock has only lines by half steps; where it has others too, no two lines by half steps follow each other.
    all_by_half_steps: bool,
    /// What is to come more often, with its weight.
    wanted: Vec<(WantedPiece, f64)>,
    /// The wanted piece that was drawn last.
    last: Option<WantedPiece>,
    /// The likenesses ([`likeness`]) of the latest [`APART`] phrases, oldest first.
    before: VecDeque<u64>,
}

impl PhraseMaker {
    /// A maker that has drawn no phrase yet.
    #[must_use]
    pub fn new(stock: Stock) -> Self {
        let all_by_half_steps = stock.0.iter().all(StockPattern::fits_any);
        Self { stock, all_by_half_steps, wanted: Vec::new(), last: None, before: VecDeque::new() }
    }

    /// The same maker, by which these joins and patterns come more often, each by its weight; those with other patterns than those of
    /// the stock are passed over.
    #[must_use]
    pub fn wanting(mut self, pieces: impl IntoIterator<Item = (WantedPiece, f64)>) -> Self {
        let there = |id: &PatternId| self.stock.0.iter().any(|pattern| pattern.id == *id);
        let can = |piece: &WantedPiece| match piece {
            WantedPiece::Join(join) => join.before != join.after && there(&join.before) && there(&join.after),
            WantedPiece::Pattern(pattern) => there(pattern),
        };
        let wanted = pieces.into_iter().filter(|(piece, weight)| *weight > 0.0 && can(piece));
        self.wanted = wanted.collect();
        self
    }

    fn fits_any(&self, id: &PatternId) -> bool {
        self.stock.0.iter().any(|pattern| pattern.id == *id && pattern.fits_any())
    }

    /// Draws a phrase over these bars, inside `range`; `draw` gives numbers from 0 up to 1. The phrase differs from the latest
    /// [`APART`] phrases, unless the patterns are too few for that.
    ///
    /// # Errors
    /// [`NoPhrase`] where no draw gave a phrase.
    pub fn phrase(&mut self, ground: &Ground, range: Range, draw: &mut dyn FnMut() -> f64) -> Result<Phrase, NoPhrase> {
        if let Some(phrase) = self.with_wanted(ground, range, draw) {
            return Ok(phrase);
        }
        let mut again = None;
        for _ in 0..DRAWS {
            let Some(phrase) = self.once(ground, range, draw, None) else { continue };
            let likeness = likeness(&phrase);
            if !self.before.contains(&likeness) {
                self.remember(likeness);
                return Ok(phrase);
            }
            again.get_or_insert((likeness, phrase));
        }
        let (likeness, phrase) = again.ok_or_else(|| self.why_none(ground, range))?;
        self.remember(likeness);
        Ok(phrase)
    }

    /// A pattern, as it is written, on every chord of this kind in these bars; for each chord the pattern is drawn anew. A chord that
    /// goes on into the next bar gets one pattern, and a chord where no pattern has room is passed over. A numeral without a quality,
    /// such as V, means every chord on that root.
    ///
    /// # Errors
    /// No such chord, or no pattern for it that has room.
    pub fn on_every(
        &self,
        kind: &Numeral,
        ground: &Ground,
        range: Range,
        draw: &mut dyn FnMut() -> f64,
    ) -> Result<Phrase, NoPhrase> {
        let any = kind.quality == ChordQuality::default();
        let meant = |chord: &Numeral| chord.root == kind.root && (any || chord.quality == kind.quality);
        let mut draft = Draft::default();
        let mut before = None;
        let (mut found, mut without_room) = (None, None);
        for stay in &ground.stays {
            let here = stay.harmony.as_ref();
            let goes_on = before.replace(here.map(|harmony| &harmony.numeral)) == Some(here.map(|it| &it.numeral));
            let Some(harmony) = here.filter(|harmony| !goes_on && meant(&harmony.numeral)) else { continue };
            found.get_or_insert(harmony);
            let fitting: Vec<_> = self.stock.0.iter().filter(|pattern| pattern.fits(harmony)).collect();
            if !fitting.is_empty() {
                without_room.get_or_insert(harmony);
            }
            let first = (draw() * fitting.len() as f64) as usize;
            let mut turns = fitting.iter().cycle().skip(first).take(fitting.len());
            if let Some(longer) = turns.find_map(|pattern| draft.exactly(pattern, stay.from, ground, range)) {
                draft = longer;
            }
        }
        let Some(harmony) = found else { return Err(NoPhrase::NoSuchChord { asked: kind.clone() }) };
        match (draft.pieces.is_empty(), without_room) {
            (false, _) => Ok(made(draft, ground, None, false)),
            (true, Some(fits)) => Err(NoPhrase::NoRoom { chord: fits.numeral.clone() }),
            (true, None) => Err(NoPhrase::NoPattern { chord: harmony.numeral.clone() }),
        }
    }

    /// Draws whether something wanted comes now, what, and a phrase with it; `None` where none is wanted, it is not its turn, or it cannot
    /// be made over these bars.
    fn with_wanted(&mut self, ground: &Ground, range: Range, draw: &mut dyn FnMut() -> f64) -> Option<Phrase> {
        if self.wanted.is_empty() || draw() >= WANTED {
            return None;
        }
        // Another one than the last, where there is another.
        let others = |it: &&(WantedPiece, f64)| self.wanted.len() == 1 || Some(&it.0) != self.last.as_ref();
        let all: f64 = self.wanted.iter().filter(others).map(|it| it.1).sum();
        let mut left = draw() * all;
        let chosen = self.wanted.iter().filter(others).find(|it| {
            left -= it.1;
            left < 0.0
        });
        let piece = chosen?.0.clone();
        for _ in 0..WANTED_DRAWS {
            let Some(phrase) = self.once(ground, range, draw, Some(&piece)) else { continue };
            let likeness = likeness(&phrase);
            if !self.before.contains(&likeness) {
                self.remember(likeness);
                self.last = Some(piece.clone());
                return Some(Phrase { wanted: Some(piece), ..phrase });
            }
        }
        None
    }

    fn remember(&mut self, likeness: u64) {
        if self.before.len() >= APART {
            self.before.pop_front();
        }
        self.before.push_back(likeness);
    }

    /// Draws one phrase, which begins with what is `wanted` where that is given; `None` where a piece cannot be joined or the phrase
    /// cannot land.
    fn once(
        &self,
        ground: &Ground,
        range: Range,
        draw: &mut dyn FnMut() -> f64,
        wanted: Option<&WantedPiece>,
    ) -> Option<Phrase> {
        let mut draft = Draft::default();
        let long = ground.length.0 > 10 * Ticks::QUARTER;
        let pieces = if draw() < if long { 0.7 } else { 0.25 } { 3 } else { 2 };
        for n in 0..pieces {
            draft = match (wanted, n) {
                (Some(WantedPiece::Pattern(id)), 0) => self.longer_by(&draft, ground, range, draw, (id, None))?,
                (Some(WantedPiece::Join(join)), 0) => {
                    self.longer_by(&draft, ground, range, draw, (&join.before, None))?
                }
                (Some(WantedPiece::Join(join)), 1) => {
                    self.longer_by(&draft, ground, range, draw, (&join.after, Some(join.seam)))?
                }
                _ => self.longer(&draft, ground, range, draw)?,
            };
        }
        landed(draft, ground, range, draw)
    }

    /// The draft with another piece; `None` where none of the patterns tried can follow.
    fn longer(&self, draft: &Draft, ground: &Ground, range: Range, draw: &mut dyn FnMut() -> f64) -> Option<Draft> {
        let count = self.stock.0.len();
        if count == 0 {
            return None;
        }
        let plain = draw() < 0.5;
        for _ in 0..TRIES {
            let pattern = &self.stock.0[pick(draw, count)];
            let before = draft.pieces.last().map(|piece| &piece.pattern);
            let half_steps = before.is_some_and(|before| self.fits_any(before)) && pattern.fits_any();
            let again = count > 1 && draft.pieces.iter().any(|piece| piece.pattern == pattern.id);
            let seldom = pattern.fits_any() && draw() < PASSED_BY;
            if again || (!self.all_by_half_steps && (half_steps || seldom)) {
                continue;
            }
            let shared = !draft.notes.is_empty() && draw() < 0.25;
            let manner = drawn_manner(shared, plain, draw);
            if let Some(longer) = draft.with(pattern, manner, ground, range, &mut |count| pick(draw, count)) {
                return Some(longer);
            }
        }
        None
    }

    /// The draft with this pattern as its next piece, joined by this kind of seam; `None` where no try keeps the rules.
    fn longer_by(
        &self,
        draft: &Draft,
        ground: &Ground,
        range: Range,
        draw: &mut dyn FnMut() -> f64,
        (id, seam): (&PatternId, Option<Seam>),
    ) -> Option<Draft> {
        let pattern = self.stock.0.iter().find(|pattern| pattern.id == *id)?;
        let plain = draw() < 0.5;
        let mut tries = (0..TRIES).filter_map(|_| {
            let manner = drawn_manner(seam == Some(Seam::Shared), plain, draw);
            draft.with(pattern, manner, ground, range, &mut |count| pick(draw, count))
        });
        tries.find(|longer| longer.pieces.last().is_some_and(|piece| piece.seam == seam))
    }

    /// What is said where no draw gave a phrase: that there is no chord, no pattern for the chords or no room in the range; where none of
    /// these is so, that no pattern goes on into another.
    fn why_none(&self, ground: &Ground, range: Range) -> NoPhrase {
        let chords: Vec<&Harmony> = ground.stays.iter().filter_map(|stay: &UnderChord| stay.harmony.as_ref()).collect();
        let Some(first) = chords.first() else { return NoPhrase::Silent };
        let fitting = |harmony: &&&Harmony| self.stock.0.iter().any(|pattern| pattern.fits(harmony));
        let Some(fits) = chords.iter().find(fitting) else {
            return NoPhrase::NoPattern { chord: first.numeral.clone() };
        };
        let room = |harmony: &&Harmony| self.stock.0.iter().any(|pattern| has_room(pattern, harmony, range));
        if !chords.iter().any(room) {
            return NoPhrase::OutOfRange { chord: fits.numeral.clone(), range };
        }
        NoPhrase::NoSeam
    }
}

/// A number from 0 up to `count`.
fn pick(draw: &mut dyn FnMut() -> f64, count: usize) -> usize {
    ((draw() * count as f64) as usize).min(count - 1)
}

/// How a piece is laid, drawn; `plain` keeps the pattern's own rhythm.
fn drawn_manner(shared: bool, plain: bool, draw: &mut dyn FnMut() -> f64) -> Manner {
    let entry = if shared { PieceEntry::AtOnce } else { PieceEntry::DRAWN[pick(draw, PieceEntry::DRAWN.len())] };
    let figure = if plain { Figure::Plain } else { Figure::ALL[pick(draw, Figure::ALL.len())] };
    Manner { entry, figure, shared }
}

/// The phrase that a draft becomes once it has landed: its last note is made longer, or another note is added a step away. `None` where
/// neither keeps the rules, or where the last note would begin before [`SOONEST`].
fn landed(mut draft: Draft, ground: &Ground, range: Range, draw: &mut dyn FnMut() -> f64) -> Option<Phrase> {
    let last = *draft.notes.last()?;
    let on_grid = last.at.0 % EIGHTH == 0;
    let own = on_grid && beginning(ground, last.at).and_then(|harmony| harmony.landing(last.midi)).is_some();
    let apart = !own || draw() < 0.3;
    let note = if apart { beyond(&draft, last, ground, range, draw)? } else { lengthened(last, ground, draw)? };
    if apart {
        draft.notes.push(note);
    } else {
        draft.notes.pop();
        draft.notes.push(note);
    }
    let soonest = ground.length.0 as f64 * SOONEST;
    let harmony = beginning(ground, note.at)?;
    let landing = harmony.landing(note.midi).map(named_as_tension)?;
    let home = harmony.numeral.clone();
    (note.at.0 as f64 >= soonest).then(|| made(draft, ground, Some((landing, home)), apart))
}

/// The phrase made of a draft as it stands.
fn made(draft: Draft, ground: &Ground, landing: Option<(Degree, Numeral)>, landing_apart: bool) -> Phrase {
    let notes = draft.notes.iter().map(|note| ExpectedNote {
        pitch: Concert(note.midi),
        at: note.at.beats(),
        length: note.length.beats(),
        named: Some(note.letters),
    });
    let line = Line { notes: notes.collect(), length: ground.length.beats() };
    Phrase { pieces: draft.pieces, line, landing, landing_apart, wanted: None }
}

/// A note on which the phrase lands: it is a half or whole step from the note `last`, and begins where a next piece could begin.
fn beyond(
    draft: &Draft,
    last: LaidNote,
    ground: &Ground,
    range: Range,
    draw: &mut dyn FnMut() -> f64,
) -> Option<LaidNote> {
    let at = PieceEntry::AtOnce.begins(draft.free, draft.free)?;
    let harmony = beginning(ground, at)?;
    let mut steps = [-1, 1, -2, 2];
    steps.rotate_left((draw() * 4.0) as usize % 4);
    let lands = |midi: &i32| range.contains(Concert(*midi)) && harmony.landing(*midi).is_some();
    let midi = steps.into_iter().map(|step| last.midi + step).find(lands)?;
    let letters = harmony.letters(harmony.landing(midi)?);
    lengthened(LaidNote { midi, at, length: Ticks(0), letters }, ground, draw)
}

/// The note, made to last for a beat or more and no shorter than before; `None` where no length of [`HELD`] keeps the rules.
fn lengthened(note: LaidNote, ground: &Ground, draw: &mut dyn FnMut() -> f64) -> Option<LaidNote> {
    let first = (draw() * HELD.len() as f64) as usize % HELD.len();
    let lengths = HELD.iter().cycle().skip(first).take(HELD.len()).chain(&[2]);
    let longer = lengths.map(|eighths| LaidNote { length: Ticks(eighths * EIGHTH), ..note });
    longer.filter(|held| held.length >= note.length).find(|held| fits_its_place(held, ground.length, ground))
}

/// A number for comparing phrases: another one where moves or rhythm differ, the same in every key (FNV-1a, 64 bits).
fn likeness(phrase: &Phrase) -> u64 {
    let first = phrase.line.notes.first().map_or(0, |note| note.pitch.0);
    let mut hash = 0xcbf2_9ce4_8422_2325u64;
    for note in &phrase.line.notes {
        let (at, length) = (Ticks::nearest(note.at), Ticks::nearest(note.length));
        for part in [i64::from(note.pitch.0 - first), at.0, length.0] {
            hash = (hash ^ part.cast_unsigned()).wrapping_mul(0x0100_0000_01b3);
        }
    }
    hash
}

/// The degree as chords name it: a second becomes a ninth.
fn named_as_tension(degree: Degree) -> Degree {
    if degree.letters == 1 { degree.octaves_up(1) } else { degree }
}
