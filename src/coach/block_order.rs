use crate::coach::warning_order::shuffle;
use crate::coach::{Choice, Plan, Reason, Rng};
use crate::cue::{SoftTap, TapSound};
use crate::music::ConcertKey;
use crate::pattern::{PatternId, Register};
use crate::units::{Beats, Tempo};

/// Number of answers of a block.
const BLOCK: usize = 6;
/// How often each sound is tapped in a block, at least and at most: each number is as likely as any other, so that nobody guesses
/// it, and one digit is enough to answer (9 stands for nine or more).
const TAPPED: (u32, u32) = (2, 8);
/// An answer is divided into places of about this many seconds (three places at least); a tap has a place to itself.
const PLACE_S: f64 = 0.25;
/// The part of its place in which a tap may lie: where that part begins, and how long it is, as shares of the place.
const MIDDLE: (f64, f64) = (0.2, 0.6);

/// Blocks of answers, with and without something to count, in a balanced order without end. Blocks come in pairs: both of a pair
/// ask the same patterns and keys, one with the count and one without. Of four blocks the first and the last are alike, so that
/// whoever warms up or tires does so in both (the order A B B A; common practice). In each four, wood is counted once and brush
/// once.
#[derive(Debug, Clone)]
pub struct BlockOrder {
    pairs: Vec<(PatternId, ConcertKey)>,
    register: Register,
    tempo: Tempo,
    rng: Rng,
    /// Indices of the pairs that are still to come of the rounds drawn, the next one last.
    deck: Vec<usize>,
    /// What is still to come of four blocks, the last one first.
    left: Vec<(Option<TapSound>, Vec<usize>)>,
    number: u32,
}

/// One block.
#[derive(Debug, Clone, PartialEq)]
pub struct TaskBlock {
    /// The number of the block, from 1 in a session; a block asked anew has a number of its own.
    pub number: u32,
    /// What is counted; `None` where the taps are let pass.
    pub counted: Option<TapSound>,
    /// What is asked, in order.
    pub choices: Vec<Choice>,
    places: Vec<usize>,
}

impl BlockOrder {
    /// The order of a plan; everything is asked at the plan's first tempo and in one register.
    #[must_use]
    pub fn new(plan: &Plan, seed: u64) -> Self {
        Self {
            pairs: plan.pairs().map(|(pattern, key)| (pattern.clone(), key)).collect(),
            register: plan.one_register().unwrap_or(Register::Middle),
            tempo: plan.first_tempo,
            rng: Rng::new(seed),
            deck: Vec::new(),
            left: Vec::new(),
            number: 0,
        }
    }

    /// The next block; `None` where there is nothing to ask.
    pub fn next(&mut self) -> Option<TaskBlock> {
        if self.left.is_empty() && !self.pairs.is_empty() {
            self.draw();
        }
        let (counted, places) = self.left.pop()?;
        Some(self.made(counted, places))
    }

    /// A block that was broken off, asked anew from its beginning: the same pairs and sound, in an order drawn anew.
    pub fn again(&mut self, block: &TaskBlock) -> TaskBlock {
        let mut places = block.places.clone();
        shuffle(&mut places, &mut self.rng);
        self.made(block.counted, places)
    }

    fn made(&mut self, counted: Option<TapSound>, places: Vec<usize>) -> TaskBlock {
        self.number += 1;
        let asked = places.iter().filter_map(|place| self.pairs.get(*place).cloned());
        let (register, tempo, reason) = (self.register, self.tempo, Reason::Turn);
        let choices = asked.map(|(pattern, key)| Choice { pattern, key, register, tempo, reason }).collect();
        TaskBlock { number: self.number, counted, choices, places }
    }

    fn draw(&mut self) {
        let mut sounds = [TapSound::Wood, TapSound::Brush];
        shuffle(&mut sounds, &mut self.rng);
        let counts_first = self.rng.uniform() < 0.5;
        for (n, sound) in sounds.into_iter().enumerate() {
            let mut one = self.dealt();
            let mut other = one.clone();
            shuffle(&mut one, &mut self.rng);
            shuffle(&mut other, &mut self.rng);
            let (counting, passing) = ((Some(sound), one), (None, other));
            let both = if counts_first == (n == 0) { [passing, counting] } else { [counting, passing] };
            self.left.splice(0..0, both);
        }
    }

    /// The pairs of the next two blocks, as indices: every pattern comes in every key before any comes a second time.
    fn dealt(&mut self) -> Vec<usize> {
        while self.deck.len() < BLOCK {
            let mut more: Vec<usize> = (0..self.pairs.len()).collect();
            shuffle(&mut more, &mut self.rng);
            self.deck.splice(0..0, more);
        }
        self.deck.split_off(self.deck.len() - BLOCK)
    }

    /// Draws the taps of a block: of each sound two to eight, spread over the answers. `lengths` are those of the answers; there is one
    /// list of taps for each answer.
    pub fn taps(&mut self, lengths: &[Beats]) -> Vec<Vec<SoftTap>> {
        let many = |length: &Beats| ((self.tempo.lasting(*length).0 / PLACE_S) as usize).clamp(3, 64);
        let of = |(answer, length): (usize, &Beats)| {
            let many = many(length);
            (0..many).map(move |place| (answer, place as f64, many as f64))
        };
        let mut places: Vec<_> = lengths.iter().enumerate().flat_map(of).collect();
        shuffle(&mut places, &mut self.rng);
        let mut places = places.into_iter();
        let mut taps = vec![Vec::new(); lengths.len()];
        for sound in [TapSound::Wood, TapSound::Brush] {
            let (least, most) = TAPPED;
            let count = least + (self.rng.uniform() * f64::from(most - least + 1)) as u32;
            for (answer, place, many) in places.by_ref().take(count.min(most) as usize) {
                let within = MIDDLE.0 + MIDDLE.1 * self.rng.uniform();
                let at = Beats(lengths[answer].0 * (place + within) / many);
                taps[answer].push(SoftTap { at, sound });
            }
        }
        taps.iter_mut().for_each(|of: &mut Vec<SoftTap>| of.sort_by(|a, b| a.at.0.total_cmp(&b.at.0)));
        taps
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::coach::Goals;
    use crate::units::Seconds;

    fn order(seed: u64, keys: usize) -> BlockOrder {
        let goals = Goals { tempo: Tempo(120.0), reflex: Seconds(0.8) };
        let keys = ConcertKey::FIFTHS[..keys].to_vec();
        BlockOrder::new(&Plan::new(vec![PatternId("a".to_owned())], keys, goals, 1), seed)
    }

    #[test]
    fn what_is_asked_while_counting_is_asked_without_too_and_neither_comes_first_more_often() {
        let mut first = 0;
        for seed in 0..200 {
            let mut order = order(seed, 12);
            let four: Vec<TaskBlock> = (0..4).filter_map(|_| order.next()).collect();
            let counts: Vec<bool> = four.iter().map(|block| block.counted.is_some()).collect();
            assert!(counts[0] != counts[1] && counts[0] == counts[3] && counts[1] == counts[2], "{counts:?}");
            let mut sounds: Vec<_> = four.iter().filter_map(|block| block.counted).collect();
            sounds.sort();
            assert_eq!(sounds, [TapSound::Wood, TapSound::Brush], "another thing to count in each");
            let keys = |block: &TaskBlock| {
                let mut keys: Vec<ConcertKey> = block.choices.iter().map(|choice| choice.key).collect();
                keys.sort();
                keys
            };
            assert!(keys(&four[0]) == keys(&four[1]) && keys(&four[2]) == keys(&four[3]));
            let mut all = [keys(&four[0]), keys(&four[2])].concat();
            all.sort();
            all.dedup();
            assert_eq!(all.len(), 12, "all twelve keys in four blocks");
            first += u32::from(counts[0]);
        }
        assert!((70..=130).contains(&first), "{first} of 200");
    }

    #[test]
    fn nobody_knows_from_the_block_how_many_taps_it_has() {
        let (mut order, mut times) = (order(3, 1), [0u32; 10]);
        let lengths = [Beats(4.0); BLOCK];
        for _ in 0..700 {
            let taps: Vec<SoftTap> = order.taps(&lengths).concat();
            let wood = taps.iter().filter(|tap| tap.sound == TapSound::Wood).count();
            times[wood.min(9)] += 1;
            assert!(taps.iter().all(|tap| tap.at.0 > 0.0 && tap.at.0 < 4.0));
            assert!((2..=8).contains(&(taps.len() - wood)));
        }
        assert!(times[2..=8].iter().all(|count| (65..=140).contains(count)), "{times:?}");
        assert_eq!(times[..2], [0, 0]);
    }

    #[test]
    fn a_block_that_was_broken_off_is_asked_anew_under_a_number_of_its_own() {
        let mut order = order(1, 2);
        let block = order.next().unwrap();
        let again = order.again(&block);
        assert_eq!((block.number, again.number, again.counted), (1, 2, block.counted));
        assert_eq!(again.choices.len(), BLOCK);
    }
}
