use super::analysis_frame::Candidate;
use super::rules::Rules;

/// Which of two pitches an octave apart is the note, where the sound itself says so.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Octave {
    /// This pitch is too high: the odd partials of the octave below are soft, and stay.
    TooHigh(f64),
    /// This pitch is the note: what was heard of the octave below fades.
    Right(f64),
}

impl Octave {
    /// Whether no note sounds, or the one that sounds is in the right octave: a note that is no longer young keeps its octave.
    pub(super) fn agrees(self, sounding: Option<f64>) -> bool {
        let right = match self {
            Self::TooHigh(pitch) => pitch - 12.0,
            Self::Right(pitch) => pitch,
        };
        sounding.is_none_or(|pitch| (pitch - right).abs() < 0.6)
    }
}

/// Chooses the pitch of a frame among its candidates, shortest period first. Every multiple of a period is a period too, so a longer period
/// must be clearly better, and a little more so the longer it is, because noise favours long periods. The candidate at the pitch of the
/// `sounding` note wins where it is nearly as clear as the clearest (`continuity`), unless the shorter period that would win without it is
/// about as clear (`continuity_shorter`).
///
/// `octave` is what [`super::odd_partials`] says: a candidate at the right pitch wins, and one that is too high is passed over.
pub(super) fn pick(
    candidates: &[Candidate],
    sounding: Option<f64>,
    octave: Option<Octave>,
    rules: &Rules,
) -> Option<Candidate> {
    let near = |c: &Candidate, pitch: f64| (c.semitone - pitch).abs() < 0.5;
    if let Some(Octave::Right(pitch)) = octave
        && let Some(right) = candidates.iter().find(|c| near(c, pitch))
    {
        return Some(*right);
    }
    let too_high = |c: &Candidate| matches!(octave, Some(Octave::TooHigh(pitch)) if near(c, pitch));
    let winner = candidates.iter().enumerate().filter(|(_, short)| !too_high(short)).find_map(|(i, short)| {
        let holds = candidates[i + 1..].iter().all(|long| short.clarity >= ratio(short, long, rules) * long.clarity);
        holds.then_some(*short)
    })?;
    let Some(sounding) = sounding else { return Some(winner) };
    let top = candidates.iter().map(|c| c.clarity).fold(0.0, f64::max);
    let near = |c: &&Candidate| (c.semitone - sounding).abs() < 0.6 && !too_high(c);
    let Some(same) = candidates.iter().filter(near).max_by(|a, b| a.clarity.total_cmp(&b.clarity)) else {
        return Some(winner);
    };
    let shorter = winner.period < same.period && winner.clarity > rules.continuity_shorter * same.clarity;
    Some(if same.clarity >= rules.continuity * top && !shorter { *same } else { winner })
}

fn ratio(short: &Candidate, long: &Candidate, rules: &Rules) -> f64 {
    let octaves = (long.period / short.period).log2();
    let far = ((octaves - 1.6) / 1.4).clamp(0.0, 1.0);
    rules.near_ratio + far * (rules.far_ratio - rules.near_ratio)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn candidate(semitone: f64, clarity: f64) -> Candidate {
        Candidate { semitone, period: 100.0 / (semitone / 12.0).exp2(), clarity, window: 384 }
    }

    #[test]
    fn of_a_note_and_the_octave_below_the_note_is_chosen() {
        let heard = [candidate(0.0, 0.95), candidate(-12.0, 0.97)];
        assert_eq!(pick(&heard, None, None, &Rules::default()), Some(heard[0]));
    }

    #[test]
    fn a_weak_upper_partial_does_not_win_over_the_note() {
        let heard = [candidate(12.0, 0.6), candidate(0.0, 0.97)];
        assert_eq!(pick(&heard, None, None, &Rules::default()), Some(heard[1]));
    }

    #[test]
    fn a_sounding_note_keeps_its_pitch_while_it_is_nearly_as_clear() {
        let heard = [candidate(0.0, 0.9), candidate(-5.0, 0.93)];
        assert_eq!(pick(&heard, Some(-5.1), None, &Rules::default()), Some(heard[1]));
    }

    #[test]
    fn silence_has_no_pitch() {
        assert_eq!(pick(&[], None, None, &Rules::default()), None);
    }
}
