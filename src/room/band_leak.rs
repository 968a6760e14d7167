use crate::units::Decibels;

/// The lead-in is heard in so many parts: a player who plays along in some of them leaves the others as they are.
const PARTS: usize = 4;
/// Share of the band's power that counts on from block to block: what comes back comes later and rings, but dies away more slowly than this.
const LASTS: f64 = 0.8;
/// Where the band's power is a smaller share than this of its loudest, what comes shows no leak, for it may be the room's own noise.
const FAINT: f64 = 0.01;
/// A part of the lead-in shows the leak where the band is at least this share as loud as at its loudest.
const LOUD: f64 = 0.25;
/// Number of newest blocks of which it is known by how much they exceed the band: a second.
const KEPT: usize = 64;

/// How loudly a band comes back that is too soft to be taken out: what open headphones leak.
///
/// What came is weighed against what was sounded and not taken as a level, for a lead-in of clicks is softer than the band after it.
#[derive(Debug, Clone)]
pub(super) struct BandLeak {
    /// Index of the sample with which the lead-in begins, and of the one with which it ends.
    lead_in: (i64, i64),
    /// The band's mean square, as it counts on.
    sounded: f64,
    /// The most that it was.
    loudest: f64,
    /// For each part of the lead-in, the most that the band was in it, and the greatest ratio of what came to the band.
    parts: [(f64, f64); PARTS],
    /// Of the newest blocks: number, ratio of what came to the band. A ring.
    newest: Vec<(i64, f64)>,
}

impl BandLeak {
    /// Nothing heard yet; the lead-in lies between these two samples.
    pub fn new(lead_in: (i64, i64)) -> Self {
        Self { lead_in, sounded: 0.0, loudest: 0.0, parts: [(0.0, 0.0); PARTS], newest: vec![(i64::MIN, 0.0); KEPT] }
    }

    /// Takes in the block of this number, which ended before sample `after`: mean squares of the band in it, and of what came.
    pub fn hear(&mut self, number: i64, after: i64, band: f64, came: f64) {
        self.sounded = band.max(LASTS * self.sounded);
        self.loudest = self.loudest.max(self.sounded);
        let ratio = came / self.sounded.max(1e-20);
        self.newest[number.rem_euclid(KEPT as i64) as usize] = (number, ratio);
        let (begins, ends) = self.lead_in;
        let part = (after - begins) * PARTS as i64 / (ends - begins).max(1);
        if let Some((loud, most)) = usize::try_from(part).ok().and_then(|part| self.parts.get_mut(part))
            && self.sounded > FAINT * self.loudest
        {
            (*loud, *most) = (loud.max(self.sounded), most.max(ratio));
        }
    }

    /// By how much the loudest of the blocks between these two numbers exceeds what the band leaks; `None` where the lead-in has not shown it.
    pub fn exceeded_by(&self, from: i64, to: i64) -> Option<Decibels> {
        let shown = self.parts.iter().filter(|(loud, most)| *loud > LOUD * self.loudest && *most > 0.0);
        let leaks = shown.map(|(_, most)| *most).min_by(f64::total_cmp)?;
        let heard = self.newest.iter().filter(|it| (from..=to).contains(&it.0)).map(|it| it.1);
        heard.max_by(f64::total_cmp).map(|most| Decibels::of_power(most / leaks))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first hundred blocks are the lead-in; the band sounds in every other ten of them.
    fn heard(came: impl Fn(i64, f64) -> f64) -> BandLeak {
        let mut leak = BandLeak::new((0, 70_000));
        for number in 0..140 {
            let band = if number / 10 % 2 == 0 { 0.01 } else { 0.0 };
            leak.hear(number, 700 * (number + 1), band, came(number, band));
        }
        leak
    }

    #[test]
    fn what_open_headphones_leak_is_known_though_a_player_warms_up_in_half_of_the_lead_in() {
        let leak = heard(|number, band| 1e-3 * band + 1e-7 + if (30..80).contains(&number) { 0.005 } else { 0.0 });
        let over = |from: i64| leak.exceeded_by(from, from + 5).map(|it| it.0);
        assert!(over(120).is_some_and(|db| db.abs() < 0.1), "the leak itself: {:?}", over(120));
    }

    #[test]
    fn a_note_over_a_leak_is_as_loud_beside_it_as_it_was_played() {
        let leak = heard(|number, band| 1e-3 * band + if number == 122 { 1e-4 } else { 0.0 });
        // Ten of the leak's powers beside its own.
        let over = leak.exceeded_by(120, 125).map(|it| it.0);
        assert!(over.is_some_and(|db| (db - 10.4).abs() < 0.1), "{over:?}");
        assert_eq!(BandLeak::new((0, 70_000)).exceeded_by(0, 5), None, "nothing was heard");
    }
}
