//! What a sitting may ask, worked out from what was typed and what the settings hold.

use crate::coach::Plan;
use crate::cue::{Form, Timing};
use crate::music::Mode;
use crate::pattern::{Meter, Pattern};
use crate::talk::failure::Failure;
use crate::talk::player::Who;
use crate::words;

/// What a sitting may ask, and how.
#[derive(Debug, Clone)]
pub struct Meant {
    /// Who plays.
    pub who: Who,
    /// The patterns.
    pub patterns: Vec<Pattern>,
    /// The plan for the coach.
    pub plan: Plan,
    /// What is sounded before an answer.
    pub form: Form,
    /// How answers are timed.
    pub timing: Timing,
    /// Warnings of keys that are told late: beats between the moment a key is given and its answer, each warning as often as the others.
    /// Empty where no key is told late.
    pub warnings: Vec<u32>,
}

impl Meant {
    /// The same sitting in rounds without a stop: every answer is in tempo, on one click. Refused where the patterns have different
    /// meters, and with `vamp` where the band cannot play their meter.
    pub fn in_rounds(self, vamp: bool) -> Result<Self, Failure> {
        let mut meters = self.patterns.iter().map(Pattern::meter);
        let first = meters.next();
        if meters.any(|meter| Some(meter) != first) {
            let what = "these patterns have different meters, and a round has one click";
            return Err(Failure::usage(what, "Name patterns of one meter: earfirst patterns show NAME tells it."));
        }
        if vamp && first == Some(Meter::SixEight) {
            let what = "the band of a vamp counts quarters, and this pattern counts dotted ones";
            return Err(Failure::usage(what, "Leave --vamp out, or name a pattern in 4/4 or 3/4."));
        }
        Ok(Self { timing: Timing::InTempo, ..self })
    }

    /// The same sitting by ear, refused where the sound of a cue does not tell what is asked.
    pub fn by_ear(self) -> Result<Self, Failure> {
        let what = match self.form {
            Form::NameOnly => "a key that is only named cannot be heard",
            Form::FirstNote | Form::Chord if self.patterns.len() > 1 => {
                "nobody hears from a chord or a note which pattern is meant"
            }
            Form::Pattern | Form::FirstNote | Form::Chord => return Ok(self),
        };
        let mend = "With --by-ear let the pattern sound, or name one and give --cue chord or first-note.";
        Err(Failure::usage(what, mend))
    }

    /// The same sitting with keys that are told late, where `warnings` are given, in beats. Keys are then told by their chord, unless
    /// another form of the cue was `chosen`.
    pub fn told_late(mut self, warnings: &[u32], chosen: Option<Form>) -> Result<Self, Failure> {
        for beats in warnings {
            if !self.warnings.contains(beats) {
                self.warnings.push(*beats);
            }
        }
        match chosen {
            _ if self.warnings.is_empty() => return Ok(self),
            Some(Form::Pattern) => {
                let what = "a whole pattern takes longer than the few beats in which a key is told late";
                return Err(Failure::usage(what, "Give --cue chord, first-note or name with --warning-beats."));
            }
            None => self.form = Form::Chord,
            Some(Form::FirstNote | Form::Chord | Form::NameOnly) => {}
        }
        self.timing = Timing::InTempo;
        Ok(self)
    }

    /// One sentence for each group of keys that does not fit the player's range.
    pub fn out_of_range(&self) -> Vec<String> {
        let misfits =
            self.plan.out_of_range.misfits(self.patterns.iter().map(|pattern| (&pattern.id, pattern.name.as_str())));
        let name = |key| self.who.page.key(key, self.mode());
        let range = self.who.low_to_high(self.who.range);
        words::fit::sentences(&misfits, Some(&range), name)
    }

    /// The mode that all patterns have in common; major where they have none.
    fn mode(&self) -> Mode {
        let mut modes = self.patterns.iter().map(Pattern::mode);
        let first = modes.next().unwrap_or(Mode::Major);
        if modes.all(|mode| mode == first) { first } else { Mode::Major }
    }
}
