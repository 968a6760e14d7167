use super::{Echo, LEAD};
use crate::cue::CueSound;
use crate::notes::HeardNote;
use crate::room::Presence;
use crate::room::band_line::{BandLine, KEPT};
use crate::room::canceller::FARTHEST;
use crate::room::echo_evidence::{EchoEvidence, power};
use crate::room::owner::LOOKED_AT;
use crate::sound::Placement;
use crate::units::{Decibels, Seconds};

/// Number of blocks between two looks at how the path moves: half a second.
const DRIFT_EVERY: u32 = 31;
/// Share of the pace that a look asks for which is taken over, until an older path shows the pace.
const HASTENS: f64 = 0.3;
/// Number of blocks between two looks for a jump: an eighth of a second.
const JUMP_EVERY: u32 = 8;
/// Number of blocks after a jump in which the path takes up again: an eighth of a second.
const TAKES_UP: u32 = 8;
/// Number of blocks after a jump after which the path must fit again, else the jump was another one: a third of a second.
const PROOF: u32 = 20;
/// A path that has not fitted for so many blocks will not be found again: two seconds and a half.
const GIVEN_UP: u32 = 150;
/// Where a jump is not found as it was, the path may be wrong by this share of its power.
const JUMPED: f32 = 0.3;
/// Number of blocks of one look at whether the band comes back, where its lead-in did not show it: four seconds.
const LOOK: u32 = 250;
/// So many blocks in which the player sounds show how much the band covers: two seconds of sound.
const ENOUGH: usize = 125;

impl Echo {
    /// As `cue`, of a band that goes on while the player plays. Nobody answers in its lead-in, by which the way is learned.
    pub fn band(&mut self, sound: &CueSound, place: Placement, lead_in: Seconds) {
        if sound.clip.rate != self.rate {
            return;
        }
        let lead_in = (self.index(place.from), self.index(place.from + lead_in));
        self.place(sound, place, Some(BandLine::new(self.rate, &self.canceller, lead_in)));
    }

    /// Follows the way of a band after the block that ended before sample `after`.
    pub(super) fn follow_band(&mut self, after: i64) {
        let Some(band) = &mut self.band else { return };
        let block = self.canceller.block();
        let left: f64 = self.canceller.residual_echo().iter().map(|power| f64::from(*power)).sum();
        let residual: f64 = self.canceller.residual().iter().map(|sample| f64::from(*sample).powi(2)).sum();
        let number = after / block as i64 - 1;
        band.powers[number.rem_euclid(KEPT as i64) as usize] = (number, left / block as f64, residual);
        band.blocks += 1;
        band.leak.hear(number, after, power(&self.reference), power(&self.microphone));
        if self.canceller.sounds() && self.learned.presence != Presence::Absent {
            self.follow_jump(number, after);
            self.follow_pace(after);
        }
        self.look_at_band(after);
    }

    /// Follows the clock of the loudspeaker.
    fn follow_pace(&mut self, after: i64) {
        let (Some(band), Some(placement)) = (&mut self.band, &mut self.placement) else { return };
        let pace = band.pace.pace();
        if pace.is_none() {
            band.drift.hear(&self.canceller);
        }
        if !band.blocks.is_multiple_of(DRIFT_EVERY) {
            return;
        }
        let asked = |late: f64| -late / (f64::from(DRIFT_EVERY) * self.canceller.block() as f64);
        let by_drift = || band.drift.look(&self.canceller).map(|late| band.hastened + HASTENS * asked(late));
        if let Some(now) = pace.or_else(by_drift) {
            let now = now.clamp(-FARTHEST, FARTHEST);
            placement.hasten(after + self.rate.samples(LEAD) as i64, now - band.hastened);
            band.hastened = now;
        }
    }

    /// Looks whether the delay has jumped, after the block of this number, and lines the band up anew where it has.
    fn follow_jump(&mut self, number: i64, after: i64) {
        let (Some(band), Some(placement)) = (&mut self.band, &mut self.placement) else { return };
        let fails_for = band.fit.fails_for();
        let now = band.read_on(self.canceller.block());
        band.pace.learn(&self.canceller, now);
        if band.settled.hear(&self.canceller, (1..GIVEN_UP).contains(&fails_for)) {
            band.pace.keep(now);
        }
        let Some(predicted) = band.settled.predicted() else { return };
        band.fit.hear(number, predicted, &self.microphone);
        band.pace.hear(predicted, &self.microphone, now, band.fit.fails_for() == 0);
        band.jump.hear(predicted, &self.microphone);
        if band.fit.fails_for() > 0 {
            // The way has become another one: how it turned says nothing of a clock.
            band.drift.forget();
            if band.blocks == band.proof {
                band.settled.forget();
                self.canceller.loosen(JUMPED);
            }
        }
        if band.blocks.is_multiple_of(JUMP_EVERY)
            && band.blocks > band.calm
            && let Some(later) = band.jump.look()
        {
            placement.delay(later);
            band.settled.put_back(&mut self.canceller);
            band.pace.put_back();
            let heard = after + self.rate.samples(LEAD) as i64;
            for ago in 0..self.canceller.partitions() {
                placement.read(heard - ((ago + 2) * self.canceller.block()) as i64, &mut band.sounded);
                self.canceller.hear_sent_again(ago, &mut band.sounded);
            }
            band.drift.forget();
            band.fit.begin_anew();
            (band.calm, band.proof) = (band.blocks + TAKES_UP, band.blocks + PROOF);
        }
    }

    /// Decides after the lead-in, in which nobody plays, whether the band comes back; where that stays open, whenever enough more was
    /// heard. Then the player plays too, so nothing shows that it does not come back.
    fn look_at_band(&mut self, after: i64) {
        let Some(band) = &mut self.band else { return };
        let first = !band.looked && after >= band.lead_in;
        let again = band.looked && band.blocks.is_multiple_of(LOOK) && self.learned.presence == Presence::Unknown;
        if !first && !again {
            return;
        }
        band.looked = true;
        let comes_back = self.evidence.comes_back(self.canceller.gain()).filter(|back| first || *back);
        self.decide(comes_back);
        self.evidence = EchoEvidence::default();
        self.taking_out |= self.learned.presence == Presence::Heard;
        if self.learned.presence == Presence::Absent {
            self.taking_out = false;
            if let Some(band) = &mut self.band {
                band.drift.forget();
            }
        }
    }

    /// By how much the band's clock is known to run faster than the input's, less what the clocks' lines gave; `None` where no band plays.
    #[must_use]
    pub fn band_pace(&self) -> Option<f64> {
        self.band.as_ref().map(|band| band.hastened)
    }

    /// Notes how much of the band was left while this note of the player's sounded.
    pub fn weigh_band(&mut self, note: &HeardNote) {
        let block = self.canceller.block() as i64;
        let (from, to) = (self.index(note.onset + Seconds(LOOKED_AT)) / block, self.index(note.release) / block);
        let Some(band) = &mut self.band else { return };
        for (_, left, residual) in band.powers.iter().filter(|it| (from..to).contains(&it.0)) {
            band.covered.0 += left;
            band.covered.1 += residual;
            band.covered.2 += 1;
        }
    }

    /// Level of what is left of the band where the player sounds, against all that is left there: near 0 the band covers the player.
    /// `None` where no band comes back, and until the player has sounded for two seconds.
    #[must_use]
    pub fn band_covers(&self) -> Option<Decibels> {
        let (left, residual, blocks) = self.band.as_ref()?.covered;
        let known = blocks >= ENOUGH && residual > 0.0 && self.learned.presence == Presence::Heard;
        known.then(|| Decibels::of_power(left / residual))
    }
}

#[cfg(test)]
#[path = "band_tests.rs"]
mod tests;
