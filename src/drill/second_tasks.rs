use std::collections::VecDeque;

use crate::coach::{BlockOrder, Divided, DividedAnswer, Plan, TaskBlock};
use crate::cue::{Cue, SecondTask, TapSound};
use crate::drill::TaskShown;
use crate::units::Seconds;
use crate::verdict::{Untimed, Verdict};

/// A drill beside a second task: the blocks, what sounded in this one, and how answers and numbers came out. Each cue has one try, and
/// the tempo stays, so that two blocks differ by the counting alone.
#[derive(Debug, Clone)]
pub(super) struct SecondTasks {
    order: BlockOrder,
    /// The block that goes on, or is over and whose number is still to be asked.
    block: Option<TaskBlock>,
    /// Cues of the block that are still to come.
    left: VecDeque<Cue>,
    /// Whether the block stopped before its end, so that it begins anew.
    broken: bool,
    /// Number of the taps to be counted that have sounded in the block.
    sounded: u32,
    /// When the taps of the last cue are over.
    pub quiet_from: Seconds,
    /// The newest number: how many taps sounded, and the number that was said, if any.
    pub newest: Option<(u32, Option<u32>)>,
    /// How the answers and numbers came out.
    pub divided: Divided,
}

impl SecondTasks {
    /// The blocks of a plan.
    pub fn new(plan: &Plan, seed: u64) -> Self {
        Self {
            order: BlockOrder::new(plan, seed),
            block: None,
            left: VecDeque::new(),
            broken: false,
            sounded: 0,
            quiet_from: Seconds(0.0),
            newest: None,
            divided: Divided::default(),
        }
    }

    /// Begins a block: the one that was broken off, else the next; gives whether there is one. `cue` makes the cue of a choice.
    pub fn begin(&mut self, cue: impl Fn(&crate::coach::Choice) -> Option<Cue>) -> bool {
        let block = match self.block.take() {
            Some(broken) => Some(self.order.again(&broken)),
            None => self.order.next(),
        };
        let Some(block) = block else { return false };
        let cues: Vec<Cue> = block.choices.iter().filter_map(cue).collect();
        let lengths: Vec<_> = cues.iter().map(|cue| cue.line.length).collect();
        let taps = self.order.taps(&lengths);
        let beside = |(cue, taps)| {
            let second_task = Some(SecondTask { block: block.number, counted: block.counted, taps });
            Cue { second_task, ..cue }
        };
        self.left = cues.into_iter().zip(taps).map(beside).collect();
        (self.sounded, self.broken) = (0, false);
        self.block = Some(block);
        true
    }

    /// The next cue of the block.
    pub fn next(&mut self) -> Option<Cue> {
        let next = self.left.pop_front();
        self.newest = self.newest.filter(|_| next.is_none());
        next
    }

    /// Number of the block, and what is counted in it.
    fn task(&self) -> Option<(u32, Option<TapSound>)> {
        self.block.as_ref().map(|block| (block.number, block.counted))
    }

    /// What is shown of the second task.
    pub fn shown(&self) -> TaskShown {
        let (block, counted) = self.task().unwrap_or((0, None));
        let (cost, counts) = (self.divided.cost(), self.divided.counts);
        TaskShown { block, counted, newest: self.newest, cost, counts }
    }

    /// Whether the block goes on: a cue of it has not begun to sound.
    pub fn goes_on(&self) -> bool {
        !self.left.is_empty()
    }

    /// What was to be counted, how many sounded and in which block, where the number is to be asked now.
    pub fn to_ask(&self) -> Option<(TapSound, u32, u32)> {
        let block = self.block.as_ref().filter(|_| self.left.is_empty() && !self.broken)?;
        Some((block.counted?, self.sounded, block.number))
    }

    /// Lets the block go, unless it stopped before its end.
    pub fn close(&mut self) {
        self.block = self.block.take().filter(|_| self.broken);
    }

    /// Breaks the block off. Its taps can no longer be counted, so it begins anew.
    pub fn break_off(&mut self) {
        self.left.clear();
        self.broken = true;
    }

    /// Enters the number that was given for the block (`None` where none was given); the block is over with that.
    pub fn say(&mut self, sounded: u32, said: Option<u32>) {
        self.divided.counts.enter(sounded, said);
        self.close();
        self.newest = Some((sounded, said));
    }

    /// Enters an answer, or that none came. `due` is when its first beat was.
    pub fn enter(&mut self, cue: &Cue, due: Option<Seconds>, verdict: Option<&Verdict>, heard_before: bool) {
        let Some(task) = &cue.second_task else { return };
        let counted = |sound| task.taps.iter().filter(|tap| tap.sound == sound).count() as u32;
        self.sounded += task.counted.map_or(0, counted);
        self.quiet_from = due.unwrap_or(self.quiet_from) + cue.tempo.lasting(cue.line.length);
        let known = |it: &&Verdict| it.related && it.untimed != Some(Untimed::Xrun);
        // Whoever was never heard may not have begun to play, so a missing answer counts for nothing then.
        if verdict.is_some() || heard_before {
            self.divided.enter(DividedAnswer {
                pattern: cue.pattern.clone(),
                key: cue.key,
                counting: task.counted.is_some(),
                whole: verdict.is_some_and(Verdict::whole),
                late: verdict.filter(known).and_then(|it| it.late),
                uneven: verdict.filter(known).and_then(|it| it.scatter),
            });
        }
    }
}
