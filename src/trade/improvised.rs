use crate::chart::Chorus;
use crate::music::Concert;
use crate::pattern::{ExpectedNote, Line};
use crate::phrase::{Ground, Phrase, PhraseMaker};
use crate::trade::plan::{Trade, TradeWish, exchange};
use crate::units::Beats;

/// Bars of a group: a phrase lies over the first two, a line of the player's own in the third, and the fourth is a rest.
const GROUP: u32 = 4;
const PHRASE: u32 = 2;
/// Lines that are in no library, in half steps from their first note. The simulated player has one of them as a habit.
const OWN: [[i32; 6]; 3] = [[0, 3, 1, -4, -2, 5], [0, 5, -2, 6, 4, -1], [0, -5, 1, 4, -1, 3]];

impl Trade {
    /// Makes up what a simulated player plays in the free choruses: joined patterns, rests, and one line of its own again and again.
    /// Where no patterns can be joined over some bars, the player rests there too.
    pub fn improvise(&mut self, wish: &TradeWish<'_>, maker: &mut PhraseMaker, draw: &mut dyn FnMut() -> f64) {
        let own = OWN[(draw() * OWN.len() as f64) as usize % OWN.len()];
        let wish = TradeWish { bars: PHRASE, ..*wish };
        let free = self.rounds.iter_mut().zip(&self.forms).filter(|(round, _)| round.free.is_some());
        let mut number = 0;
        for (round, form) in free {
            for first in (0..form.bars).step_by(GROUP as usize) {
                let ground = Ground::new(form, first, PHRASE, round.minor);
                let phrase = maker.phrase(&ground, wish.range, draw).ok().map(|phrase| (phrase, first));
                let third = first + PHRASE;
                let own = own_line(own, &wish, form, third).map(|phrase| (phrase, third));
                for (phrase, bar) in phrase.into_iter().chain(own) {
                    number += 1;
                    let cue = exchange(&wish, form, (number, bar), Beats(0.0), round.key, phrase).cue;
                    round.improvised.push((cue, Beats(f64::from(bar * form.meter))));
                }
            }
        }
    }
}

/// The player's own line in a bar, in eighths that end with it: its first note is the root of the chord, as near to the middle of
/// the range as the line allows. `None` where no chord is played, or the line is wider than the range.
fn own_line(own: [i32; 6], wish: &TradeWish<'_>, form: &Chorus, bar: u32) -> Option<Phrase> {
    let chord = form.under(bar * form.meter).filter(|_| bar < form.bars)?.chord.as_ref()?;
    let inside = |root: &i32| own.iter().all(|by| wish.range.contains(Concert(root + by)));
    let middle = (wish.range.low.0 + wish.range.high.0) / 2;
    let roots = (0..12).flat_map(|away| [middle + away, middle - away]).chain([middle - 12]);
    let root = roots.filter(|root| root.rem_euclid(12) == chord.root.class().get()).find(inside)?;
    let late = f64::from(form.meter).max(3.0) - 3.0;
    let note = |(n, by): (usize, &i32)| ExpectedNote {
        pitch: Concert(root + by),
        at: Beats(late + 0.5 * n as f64),
        length: Beats(0.5),
        named: None,
    };
    let line = Line { notes: own.iter().enumerate().map(note).collect(), length: Beats(late + 3.0) };
    Some(Phrase { pieces: Vec::new(), line, landing: None, landing_apart: false, wanted: None })
}
