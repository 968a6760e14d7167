use crate::coach::Reason;
use crate::drill::conductor::Phase;
use crate::drill::open_trial::OpenTrial;
use crate::drill::second_tasks::SecondTasks;
use crate::drill::{Drill, Effect};
use crate::notes::NoteEvent;
use crate::session::{CountedTaps, Event, PauseCause};
use crate::units::Seconds;
use crate::verdict::Verdict;

/// What is to be counted in a block, or that the taps are let pass, stands at least so long before the block's first cue.
const TOLD: Seconds = Seconds(4.0);
/// How long a number is waited for where nothing is played.
const ASKED: Seconds = Seconds(15.0);
/// After so much silence no further note belongs to a number that is given in notes.
const PLAYED: Seconds = Seconds(1.5);

impl Drill {
    /// Asks the next cue of the block; after its last cue asks for the number, where taps were counted; then begins the next block.
    pub(super) fn go_on_in_blocks(&mut self) {
        let Some(mut tasks) = self.second_tasks.take() else { return };
        let next = tasks.next();
        if let Some(cue) = next {
            self.second_tasks = Some(tasks);
            return self.sound(cue, Reason::Turn);
        }
        if let Some((_, sounded, _)) = tasks.to_ask() {
            self.second_tasks = Some(tasks);
            self.effects.push(Effect::AskCount { sounded });
            self.phase = Phase::HowMany { since: self.now, played: 0 };
            return;
        }
        tasks.close();
        let begun = tasks.begin(|choice| self.cue(choice));
        self.second_tasks = Some(tasks);
        if begun {
            self.phase = Phase::BlockBegins { until: self.now + TOLD };
        } else {
            self.pause(PauseCause::Asked, None);
        }
    }

    /// Enters an answer of a block, or that none came.
    pub(super) fn enter_divided(&mut self, trial: &OpenTrial, verdict: Option<&Verdict>) {
        let (due, heard) = (trial.span.and_then(|span| span.beat_zero), self.answers > 0);
        if let Some(tasks) = &mut self.second_tasks {
            tasks.enter(&trial.cue, due, verdict, heard);
        }
    }

    /// Whether a block goes on, which would have to begin anew if it stopped.
    pub(super) fn in_block(&self) -> bool {
        self.second_tasks.as_ref().is_some_and(SecondTasks::goes_on)
    }

    /// Breaks off the block that goes on, where there is one: it begins anew.
    pub(super) fn break_block_off(&mut self) {
        let open = matches!(self.phase, Phase::OpenTrial(_) | Phase::BlockBegins { .. });
        if let Some(tasks) = self.second_tasks.as_mut().filter(|tasks| tasks.goes_on() || open) {
            tasks.break_off();
        }
    }

    /// Counts the notes that are played in place of a number.
    pub(super) fn hear_number(&mut self, event: &NoteEvent) {
        if let (Phase::HowMany { since, played }, NoteEvent::Off(note)) = (&mut self.phase, event)
            && note.onset >= *since
        {
            *played += 1;
        }
    }

    /// Takes the number that was played once it is silent after its notes; where nothing is played within `ASKED`, no number was
    /// given.
    pub(super) fn take_number(&mut self) {
        let Phase::HowMany { since, played } = self.phase else { return };
        let silent = self.sounding.is_empty() && self.now.0 - self.last_sound.0 >= PLAYED.0;
        if played > 0 && silent {
            self.counted(Some(played));
        } else if played == 0 && self.sounding.is_empty() && self.now.0 - since.0 >= ASKED.0 {
            self.counted(None);
        }
    }

    /// Takes in the number that was given for a block; `None` where none was.
    pub(super) fn counted(&mut self, said: Option<u32>) {
        let (Phase::HowMany { .. }, Some(tasks)) = (&self.phase, &mut self.second_tasks) else { return };
        let Some((_, sounded, block)) = tasks.to_ask() else { return };
        tasks.say(sounded, said);
        let counted = CountedTaps { at: self.now, block, sounded, said };
        self.effects.push(Effect::Record(Box::new(Event::Counted(counted))));
        self.phase = Phase::Gap { from: self.now, stays: false };
    }
}
