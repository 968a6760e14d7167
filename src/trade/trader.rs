use std::collections::VecDeque;

use crate::music::Intonation;
use crate::notes::{HeardNote, NoteEvent};
use crate::sound::{InputStretch, Placement};
use crate::trade::free_form::FreeChorus;
use crate::trade::judged::JudgedExchange;
use crate::trade::plan::{Exchange, Trade};
use crate::units::{Beats, Seconds, rank};

/// A chorus is judged a beat and this long after its end, and an answer that is broken off is over this long after its last note
/// (both by the delay later), so that the ear has told of its last note by then.
const KNOWN: Seconds = Seconds(0.5);
/// Where free choruses follow each other, a note that begins at most so many beats before the first bar line of a chorus belongs to it.
const PICKED_UP: f64 = 0.25;

/// Follows a trade while it sounds: says what is due, and judges each chorus when it is over.
pub struct Trader<'t> {
    trade: &'t Trade,
    /// Where the first beat of the lead-in lies.
    place: Placement,
    delay: Option<Seconds>,
    intonation: Intonation,
    heard: Vec<HeardNote>,
    /// What is still to come, with the instant at which it is due.
    due: VecDeque<(Seconds, Due)>,
}

#[derive(Debug, Clone, Copy)]
enum Due {
    LeadIn(usize),
    Chord(usize, usize),
    Sounds(usize, usize),
    Answer(usize, usize),
    Rest(usize),
    Free(usize),
    Judge(usize),
    TakeDown(usize),
    End,
}

/// Something that has become due.
#[derive(Debug)]
pub enum TradeMoment {
    /// The lead-in to this chorus begins; where its first beat lies on the clock of what is heard.
    LeadIn(usize, Placement),
    /// What the microphone heard since the last such moment. Said by whoever hears, where its sound is to be kept.
    Sound(InputStretch),
    /// A chord of the band begins to sound: the number of the chorus, and the place of the chord among the changes of that chorus.
    Chord(usize, usize),
    /// A phrase begins to sound: the number of the chorus, and the place of the exchange among those of the chorus.
    Sounds(usize, usize),
    /// The bars of a phrase come once more, and the player answers: the number of the chorus, and the place of the exchange in it.
    Answer(usize, usize),
    /// A chorus without phrases begins: its number.
    Rest(usize),
    /// A free chorus begins: its number.
    Free(usize),
    /// A free chorus is over, or was broken off: its number, and what was heard in it.
    Played(usize, FreeChorus),
    /// A chorus with phrases is over: its number, and its judged answers.
    Judged(usize, Vec<JudgedExchange>),
    /// A chorus is broken off: its number, and its answers up to there.
    BrokenOff(usize, Vec<JudgedExchange>),
    /// Nothing was heard in this chorus, in which the player was to play; it ended at this instant: the band stops.
    Silent(usize, Seconds),
    /// The band comes back from the loudspeaker so loudly that the player may not be heard through it. Said once, by whoever hears.
    Covered,
    /// A note is held at this instant, so the band begins again, with the chorus in which it stopped.
    Again(Seconds),
    /// The trade is over.
    End,
}

impl<'t> Trader<'t> {
    /// Follows a trade whose sound lies at `place` on the clock of what is heard. `delay` is the measured delay of the devices, `None`
    /// where it was not measured.
    #[must_use]
    pub fn new(trade: &'t Trade, place: Placement, delay: Option<Seconds>, intonation: Intonation) -> Self {
        let mut trader = Self { trade, place, delay, intonation, heard: Vec::new(), due: VecDeque::new() };
        let mut due = Vec::new();
        due.push((place.from, Due::LeadIn(trade.from)));
        for (n, round) in trade.rounds.iter().enumerate().skip(trade.from) {
            let changes = trade.forms.get(n).into_iter().flat_map(|form| form.changes.iter().enumerate());
            due.extend(
                changes.map(|(place, change)| {
                    (trader.at(round.begins + Beats(f64::from(change.at))), Due::Chord(n, place))
                }),
            );
            let known = trader.at(round.ends + Beats(1.0)) + KNOWN + delay.unwrap_or(Seconds(0.0));
            if round.free.is_some() {
                due.extend([(trader.at(round.begins), Due::Free(n)), (known, Due::TakeDown(n))]);
                continue;
            }
            if round.exchanges.is_empty() {
                due.push((trader.at(round.begins), Due::Rest(n)));
                continue;
            }
            for (place, exchange) in round.exchanges.iter().enumerate() {
                due.push((trader.at(exchange.sounded), Due::Sounds(n, place)));
                due.push((trader.at(exchange.answered), Due::Answer(n, place)));
            }
            due.push((known, Due::Judge(n)));
        }
        let over = trader.at(trade.ends() + Beats(1.0)) + KNOWN * 2.0 + delay.unwrap_or(Seconds(0.0)).max(Seconds(0.0));
        due.push((over, Due::End));
        due.sort_by_cached_key(|(at, ..)| rank(at.0));
        trader.due = due.into();
        trader
    }

    /// The instant of a beat.
    fn at(&self, beat: Beats) -> Seconds {
        self.place.instant(self.trade.tempo.lasting(beat))
    }

    /// Takes in a note that the ear reports, or what it reports anew of one.
    pub fn hear(&mut self, event: &NoteEvent) {
        let note = *event.note();
        match self.heard.iter_mut().rev().find(|held| held.number == note.number) {
            Some(held) => *held = note,
            None => self.heard.push(note),
        }
    }

    /// What has become due up to `now`, in order.
    pub fn now(&mut self, now: Seconds) -> Vec<TradeMoment> {
        let mut come = Vec::new();
        while let Some((_, due)) = self.due.front().filter(|(at, _)| at.0 <= now.0).copied() {
            self.due.pop_front();
            match due {
                Due::LeadIn(round) => come.push(TradeMoment::LeadIn(round, self.place)),
                Due::Chord(round, place) => come.push(TradeMoment::Chord(round, place)),
                Due::Sounds(round, place) => come.push(TradeMoment::Sounds(round, place)),
                Due::Answer(round, place) => come.push(TradeMoment::Answer(round, place)),
                Due::Rest(round) => come.push(TradeMoment::Rest(round)),
                Due::Free(round) => come.push(TradeMoment::Free(round)),
                Due::Judge(round) => come.extend(self.judged(round)),
                Due::TakeDown(round) => come.extend(self.played(round)),
                Due::End => come.push(TradeMoment::End),
            }
        }
        come
    }

    /// What there is of the chorus that sounds, where the trade is broken off at `now`: the answers that are over, and one in which
    /// something was played already; of a free chorus what was heard. A chorus that was over a moment ago and is not judged yet comes
    /// before it.
    #[must_use]
    pub fn broken_off(&self, now: Seconds) -> Vec<TradeMoment> {
        let waiting = self.due.iter().filter_map(|(_, due)| match due {
            Due::Judge(round) | Due::TakeDown(round) => Some(*round),
            _ => None,
        });
        let up_to_now = |round: usize| {
            if self.trade.rounds.get(round)?.free.is_some() {
                return self.free_up_to(round, now);
            }
            let begun = self.trade.rounds.get(round)?.exchanges.iter().filter(|it| self.at(it.answered).0 < now.0);
            let answers: Vec<JudgedExchange> = begun
                .map(|exchange| JudgedExchange { over: self.known(exchange).0 <= now.0, ..self.judged_one(exchange) })
                .filter(|answer| answer.over || !answer.heard.is_empty())
                .collect();
            (!answers.is_empty()).then_some(TradeMoment::BrokenOff(round, answers))
        };
        waiting.filter_map(up_to_now).collect()
    }

    /// When the last note of an answer is known.
    fn known(&self, exchange: &Exchange) -> Seconds {
        let last = exchange.cue.line.notes.last().map_or(Beats(0.0), |note| note.at + note.length);
        self.at(exchange.answered + last) + KNOWN + self.delay.unwrap_or(Seconds(0.0))
    }

    fn judged_one(&self, exchange: &Exchange) -> JudgedExchange {
        JudgedExchange::of(exchange, &self.heard, &|beat| self.at(beat), self.delay, self.intonation)
    }

    fn judged(&mut self, round: usize) -> Vec<TradeMoment> {
        let Some(played) = self.trade.rounds.get(round) else { return Vec::new() };
        let answers: Vec<JudgedExchange> = played.exchanges.iter().map(|it| self.judged_one(it)).collect();
        let silent = answers.iter().all(|answer| answer.heard.is_empty());
        let begun = self.at(played.ends);
        // What belongs to the next chorus stays.
        self.heard.retain(|note| note.onset.0 >= begun.0);
        let mut come = vec![TradeMoment::Judged(round, answers)];
        come.extend(silent.then_some(TradeMoment::Silent(round, begun)));
        come
    }

    /// A free chorus that is over.
    fn played(&mut self, round: usize) -> Vec<TradeMoment> {
        let Some(played) = self.trade.rounds.get(round) else { return Vec::new() };
        let (ends, chorus) = (self.at(played.ends), self.free_chorus(round, self.at(played.ends)));
        let until = self.bounds(round).1;
        self.heard.retain(|note| note.onset.0 >= until.0);
        let silent = chorus.heard.is_empty().then_some(TradeMoment::Silent(round, ends));
        std::iter::once(TradeMoment::Played(round, chorus)).chain(silent).collect()
    }

    /// What there is of a free chorus up to `now`; `None` where it has not begun, or nothing was played.
    fn free_up_to(&self, round: usize, now: Seconds) -> Option<TradeMoment> {
        let played = self.trade.rounds.get(round)?;
        let chorus = self.free_chorus(round, now.min(self.at(played.ends)));
        let begun = self.at(played.begins).0 < now.0 && !chorus.heard.is_empty();
        begun.then_some(TradeMoment::Played(round, chorus))
    }

    fn free_chorus(&self, round: usize, until: Seconds) -> FreeChorus {
        let (from, to) = self.bounds(round);
        let mine = |note: &&HeardNote| (from.0..to.0).contains(&note.onset.0);
        let mut heard: Vec<HeardNote> = self.heard.iter().filter(mine).copied().collect();
        heard.sort_by_cached_key(|note| rank(note.onset.0));
        let [begins, ends] =
            self.trade.rounds.get(round).map_or([until; 2], |played| [self.at(played.begins), self.at(played.ends)]);
        FreeChorus { heard, begins, ends, until }
    }

    /// Between which instants the notes of a free chorus begin: from a bar before it (a pick-up) to a beat after it, but where another
    /// free chorus is next to it, they part at the bar line.
    fn bounds(&self, round: usize) -> (Seconds, Seconds) {
        let (rounds, late) = (&self.trade.rounds, self.delay.unwrap_or(Seconds(0.0)));
        let Some(played) = rounds.get(round) else { return (late, late) };
        let is_free = |n: usize| rounds.get(n).is_some_and(|other| other.free.is_some());
        let bar = self.trade.forms.get(round).map_or(0.0, |form| f64::from(form.meter));
        let before = if round > self.trade.from && is_free(round - 1) { PICKED_UP } else { bar };
        let after = if is_free(round + 1) { -PICKED_UP } else { 1.0 };
        (self.at(played.begins - Beats(before)) + late, self.at(played.ends + Beats(after)) + late)
    }
}
