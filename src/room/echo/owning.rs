use super::Echo;
use crate::notes::HeardNote;
use crate::room::band_line::BandLine;
use crate::room::owner::LOOKED_AT;
use crate::room::residual::PartialShare;
use crate::room::{Owner, Presence};
use crate::units::{Hertz, Seconds};

/// Time after the longest delay that is followed in which the room may still ring.
const LATE: Seconds = Seconds(0.6);
/// Time after the onset of a note, seconds, from which the residual is measured: before lies the attack of note and cue.
const FIRST_LOOK: f64 = 0.004;
/// A note is the player's where the residual in its partials exceeds the estimated echo by this much, dB.
const PLAYERS: f64 = 8.0;
/// A note is the player's at once, before `LOOKED_AT`, where the residual exceeds the estimated echo by this much, dB.
const SURE: f64 = 15.5;
/// Share of the bias of the estimated echo that is taken off.
const UNBIASED: f64 = 0.75;
/// Where cues come back, a note softer than the loudest echo by more than this, dB, is the echo's: nobody plays so softly.
const UNHEARD: f64 = 20.0;
/// A note is the player's where the residual in its partials exceeds the estimated echo by this much, dB; at once where by so much
/// more. Notes of chords are played on the beat, with the band: that a note fits the band says nothing against it.
const PLAYERS_OVER_BAND: f64 = 1.0;
const SURE_OVER_BAND: f64 = 8.0;
/// A wrong prediction adds its own sound to the echo instead of taking it out: the residual is then louder than the echo by this much at
/// most, dB.
const WRONG: f64 = 6.0;
/// A note whose partials are softer than the whole band by more than this, dB, is the band's: a rest of it that the canceller leaves
/// (what the loudspeaker bends, the room's tail) may exceed every estimate, but is never louder.
const UNHEARD_OVER_BAND: f64 = 14.0;
/// Where the band is not taken out, a note is the player's that exceeds what the band leaks by this much, dB, within so many seconds of its
/// onset; or whose partials exceed the estimated echo by so much, dB, that a soft player is sure.
const EXCEEDS_LEAK: f64 = 4.0;
const RISES_WITHIN: f64 = 0.1;
const SURE_OVER_LEAK: f64 = 12.0;

impl Echo {
    /// Whose a note is, by all that was heard so far; `ended` says that the note is over, and `a4` is the reference pitch.
    #[must_use]
    pub fn owner(&self, note: &HeardNote, ended: bool, a4: Hertz) -> Owner {
        let onset = self.index(note.onset);
        if onset > self.sounded + self.rate.samples(LATE) as i64 {
            return Owner::Player;
        }
        let after = |from: i64, seconds: f64| from + (seconds * self.rate.per_second()).round() as i64;
        let echo = 10.0 * self.loudest.max(1e-20).log10();
        if self.band.is_none() && self.learned.presence == Presence::Heard && note.loudness.0 < echo - UNHEARD {
            return Owner::Ours;
        }
        // A note that was announced after the cue began counts as begun no earlier than the cue.
        let reported = self.index(note.announced);
        let onset = match &self.placement {
            Some(placement) if reported >= placement.origin => onset.max(placement.origin),
            _ => onset,
        };
        // A note that has ended is looked at until shortly before its end, where the attack of the next may lie.
        let until = if ended { (note.length().0 - 0.02).clamp(0.02, LOOKED_AT) } else { LOOKED_AT };
        let share = self.residuals.share(note.pitch.hertz(a4), after(onset, FIRST_LOOK), after(onset, until));
        let whole = self.residuals.known() > after(onset, until);
        if let Some(band) = &self.band {
            let block = self.canceller.block() as i64;
            let beside = self.learned.presence != Presence::Unknown && share.beside_echo_db() < -UNHEARD_OVER_BAND;
            let soft = beside || self.is_leak(band, onset, &share);
            let unfit = band.fit.failed_since(onset.div_euclid(block) - 1);
            return Self::owner_over_band(&share, whole, soft, unfit);
        }
        let over = share.over_db() - UNBIASED * self.bias.db();
        match (whole, share.frames) {
            (false, 0) => Owner::Unknown,
            (true, 0) => Owner::Player,
            _ if over > SURE => Owner::Player,
            (false, _) => Owner::Unknown,
            _ if share.is_of_a_higher() => Owner::Ours,
            _ if over > PLAYERS => Owner::Player,
            _ => Owner::Ours,
        }
    }

    /// Whether what begins at this sample is no more than what a band leaks that is not taken out, as far as it was heard.
    fn is_leak(&self, band: &BandLine, onset: i64, share: &PartialShare) -> bool {
        let block = self.canceller.block() as i64;
        let until = onset + (RISES_WITHIN * self.rate.per_second()) as i64;
        !self.taking_out
            && share.over_db() < SURE_OVER_LEAK
            && band
                .leak
                .exceeded_by(onset.div_euclid(block), until.div_euclid(block))
                .is_some_and(|over| over.0 < EXCEEDS_LEAK)
    }

    /// Whose a note over a band is, by the powers of its partials; `whole` says that all of it was heard that is looked at, and `soft` that
    /// it is too soft beside the band, `unfit` that the path did not fit while it was heard: its delay may have jumped. Whether it has is known
    /// a tenth of a second late, so before that only what no wrong prediction can make is the player's at once.
    fn owner_over_band(share: &PartialShare, whole: bool, soft: bool, unfit: bool) -> Owner {
        let beyond = share.over_whole_db() - WRONG;
        let over = if unfit { share.over_db().min(beyond) } else { share.over_db() };
        match (whole, share.frames) {
            (true, 0) => Owner::Player,
            (_, 1..) if over > SURE_OVER_BAND && beyond > 0.0 && !soft => Owner::Player,
            (false, _) => Owner::Unknown,
            _ if over > PLAYERS_OVER_BAND && !soft => Owner::Player,
            _ => Owner::Ours,
        }
    }
}
