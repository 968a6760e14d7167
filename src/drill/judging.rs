use crate::coach::Reason;
use crate::cue::Cue;
use crate::drill::conductor::Phase;
use crate::drill::open_trial::OpenTrial;
use crate::drill::second_tasks::SecondTasks;
use crate::drill::{CUE_TAIL, Drill, Effect, JudgedAnswer, KEPT_BEFORE, Moved};
use crate::notes::{HeardNote, NoteEvent};
use crate::pattern::{self, Family, Fragment, Register};
use crate::session::{self, AnswerRecord, Event, Judgement, PauseCause};
use crate::verdict::{self, Expectation, NoteLabel, TempoStep, Verdict};
use crate::words;
use crate::words::SoundFault;
use crate::words::reader::Reader;

impl Drill {
    /// Takes in what the ear tells.
    pub(super) fn hear(&mut self, event: &NoteEvent) {
        let note = event.note();
        self.sounding.retain(|&(number, _)| number != note.number);
        match event {
            NoteEvent::On(_) | NoteEvent::Revised(_) => self.sounding.push((note.number, note.onset)),
            // What is heard while cue and answer are played back is not the player.
            NoteEvent::Off(_) if self.plays_back.is_some() => {}
            // What is sung is no work of the lips, and nobody knows whether it is sung.
            NoteEvent::Off(_) if matches!(self.phase, Phase::Spared(_)) => {}
            NoteEvent::Off(_) => self.rests.sounded(note.onset, note.release),
        }
        self.last_sound = self.last_sound.max(note.release);
        self.held_steering.hear(event);
        self.hear_number(event);
        if let Phase::OpenTrial(trial) = &mut self.phase
            && trial.hear(event)
            && self.rounds.is_none()
            && let Some(verdict) = trial.at_once.clone()
        {
            let (cue, heard) = (trial.cue.clone(), trial.heard.clone());
            let Some(asked) = trial.asked() else { return };
            let reason = trial.reason;
            let parts = self.parts(&cue, &reason);
            let judged = JudgedAnswer { parts, ..self.judged(cue, heard, &asked, verdict) };
            self.draft(&judged, &asked);
            self.judged = Some(judged);
        }
    }

    /// Drafts in the record the verdict that is shown before the answer is over, so that no failure can lose it.
    fn draft(&mut self, judged: &JudgedAnswer, asked: &Expectation) {
        let (at, cue) = (self.now, judged.cue.number);
        let answer = AnswerRecord { at, cue, clock: asked.clock, heard: judged.heard.clone(), sound: None };
        let (verdict, sentence) = (judged.verdict.clone(), judged.sentence.clone());
        let step = verdict::step(&verdict, asked, &judged.heard);
        let judgement = Judgement { at, cue, verdict, sentence, step, varied: None };
        self.effects.push(Effect::Draft(Box::new([Event::Answered(answer), Event::Judged(judgement)])));
    }

    /// Who the words about a cue are for.
    fn reader(&self, cue: &Cue) -> Reader<'_> {
        Reader::of(&self.page, cue, self.settings.began.delay.is_some())
    }

    /// The judged answer with its words: headline, sentence, and what the instrument does to a note.
    fn judged(&self, cue: Cue, heard: Vec<HeardNote>, asked: &Expectation, verdict: Verdict) -> JudgedAnswer {
        let reader = self.reader(&cue);
        let sentence = words::verdict::sentence(&verdict, asked, &heard, &reader, self.named.of(&cue.pattern));
        let headline = words::verdict::headline(&verdict, asked, &heard, &reader);
        let explained = self.hints.of(&verdict, &cue.line, reader.instrument());
        let page = self.page.in_written_pitch();
        let name = |pitch| page.note(pitch, cue.key, cue.spelling);
        let hint = explained.and_then(|note| words::fingering::hint(&name(note.pitch), &note.tendency, note.off));

        let in_time = verdict::in_time(&verdict, asked, &heard, &verdict::findings(&verdict, asked));

        let (parts, recurring, moved, contested) = (Vec::new(), None, None, false);

        JudgedAnswer { cue, heard, verdict, headline, sentence, in_time, hint, parts, recurring, moved, contested }
    }

    /// The parts of the phrase that the player meets with this cue; none for any other cue.
    fn parts(&self, cue: &Cue, reason: &Reason) -> Vec<Fragment> {
        let mut phrases = self.settings.patterns.iter().filter(|pattern| pattern.family == Family::Phrase);
        let met = phrases.find(|pattern| pattern.id == cue.pattern);
        met.filter(|_| matches!(reason, Reason::Meeting { .. })).map(pattern::fragments).unwrap_or_default()
    }

    /// Closes a trial without an answer: the first time in a row the cue sounds again (or, where each cue has one try, the next
    /// one), the second time the drill waits for a note. While the cues of the sitting still grow louder, the cue sounds again each
    /// time (beside a second task its block begins anew).
    pub(super) fn close_unanswered(&mut self, trial: OpenTrial) {
        self.record_answer(&trial);
        self.unanswered += 1;
        // The first cues of a sitting grow louder until one is answered; only when they are as loud as may be does the drill wait.
        let growing = self.loudness.settled().is_none() && self.level.0 < crate::cue::FULL.0;
        if let (Some(late_keys), false) = (&mut self.late_keys, growing) {
            late_keys.enter(&trial.cue, &trial.reason, false);
        }
        self.enter_divided(&trial, None);
        if self.second_tasks.is_some() && growing {
            // The taps of the block were too soft as well.
            self.break_block_off();
            self.asked = None;
        }
        if (self.trial_order.is_some() || self.late_keys.is_some() || self.second_tasks.is_some()) && !growing {
            // Here each cue has one try: it was heard, so it does not come again.
            self.asked = None;
        }
        if growing || self.unanswered < 2 {
            self.phase = Phase::Gap { from: self.now, stays: false };
        } else {
            self.pause(PauseCause::Silence, None);
        }
    }

    /// Writes down what was heard for a cue, even where that is nothing.
    pub(super) fn record_answer(&mut self, trial: &OpenTrial) {
        let Some(asked) = trial.asked() else { return };
        self.effects.push(Effect::Record(Box::new(Event::Answered(AnswerRecord {
            at: self.now,
            cue: trial.cue.number,
            clock: asked.clock,
            heard: trial.heard.clone(),
            sound: None,
        }))));
    }

    /// Judges an answer that is over, writes it down, learns from it and chooses what comes next.
    pub(super) fn close_answered(&mut self, mut trial: OpenTrial) {
        let (Some(asked), Some(verdict)) = (trial.asked(), trial.verdict()) else { return };
        if self.swallowed(&trial.cue, &verdict) {
            self.second_tasks.iter_mut().for_each(SecondTasks::break_off);
            return self.record_answer(&trial);
        }
        let mut judged = self.judged(trial.cue.clone(), trial.heard.clone(), &asked, verdict.clone());
        judged.parts = self.parts(&trial.cue, &trial.reason);
        let instrument = &self.settings.instrument;
        let hint = self.hints.of(&verdict, &trial.cue.line, instrument);
        self.hints.enter(&verdict, &trial.cue.line, instrument, hint.as_ref());
        self.record_answer(&trial);
        let sentence = judged.sentence.clone();
        let step = verdict::step(&verdict, &asked, &trial.heard);
        let judgement =
            Judgement { at: self.now, cue: trial.cue.number, verdict: verdict.clone(), sentence, step, varied: None };
        self.effects.push(Effect::Record(Box::new(Event::Judged(judgement.clone()))));
        self.keep_before(trial.cue.number);
        self.unanswered = 0;
        let related = verdict.related;
        self.unrelated = if related { 0 } else { self.unrelated + 1 };
        if related {
            self.loudness.answered(self.level);
            self.answers += 1;
            judged.moved = self.learn(&trial, &judgement);
        }
        // Across an xrun nothing is known of time, so such an answer is not counted for its warning.
        if let Some(late_keys) = self.late_keys.as_mut().filter(|_| !trial.xrun) {
            late_keys.enter(&trial.cue, &trial.reason, verdict::right_in_time(&verdict, asked.tempo, asked.delay));
        }
        self.enter_divided(&trial, Some(&verdict));
        // After another line the cue comes again, but not a third time. Where each cue has one try it never comes again, nor by ear,
        // where the verdict has shown its key.
        let once = self.trial_order.is_some() || self.late_keys.is_some() || self.settings.by_ear;
        let once = once || self.second_tasks.is_some();
        if related || self.unrelated >= 2 || once {
            self.asked = None;
            self.unrelated = 0;
        }
        let mut named = std::mem::take(&mut self.named);
        judged.recurring = named.enter(&trial.cue, &trial.reason, &verdict, &self.reader(&trial.cue));
        self.named = named;
        self.tuned.enter(&verdict, &asked, &trial.heard);
        let length = trial.cue.tempo.lasting(trial.cue.line.length);
        let rises = judged.moved.as_ref().is_some_and(|it| it.next.0.round() > trial.cue.tempo.0.round());
        self.judged = Some(judged);
        self.lasted = trial.span.map_or(length, |span| self.now - span.from) + CUE_TAIL + KEPT_BEFORE;
        if self.rounds.is_some() {
            return;
        }
        self.sign_verdict(&verdict, &asked, judgement.step, rises);
        if self.asked.is_none() {
            self.choose_next();
        }
        self.open_gap(length);
    }

    /// Whether a microphone that went dead may have swallowed the end of an answer (its last note is missing): the answer is not
    /// judged, and its cue comes once more, unless it had come once more already.
    fn swallowed(&self, cue: &Cue, verdict: &Verdict) -> bool {
        let unfinished = verdict.expected.last().is_some_and(|note| note.label == NoteLabel::Missed);
        self.trouble == Some(SoundFault::Gate) && unfinished && !cue.repeat
    }

    /// Learns from an answer, and says what it does to the tempo of its key where it counts.
    fn learn(&mut self, trial: &OpenTrial, judgement: &Judgement) -> Option<Moved> {
        let (cue, step) = (&trial.cue, judgement.step?);
        if cue.register == Register::High {
            self.high_notes.enter(step, self.now);
        }
        let plan = &self.settings.plan;
        let learnt = session::outcome(cue, &trial.reason, judgement, &trial.heard, plan.day);
        if self.trial_order.is_some() || self.late_keys.is_some() || self.rounds.is_some() || cue.probes() {
            // Here no line is taken apart, and no answer changes the tempo of the next cue.
            learnt.iter().for_each(|learnt| self.learner.learn(learnt));
            return None;
        }
        self.apart.enter(cue, &trial.reason, step);
        self.learner.learn(&learnt?);
        self.spares.turns.enter(cue, step);
        let next = self.learner.next_tempo(plan, &cue.pattern, cue.key);
        let doubted = step == TempoStep::Stay && verdict::in_doubt(&judgement.verdict, &trial.heard);
        Some(Moved { step, next, doubted })
    }
}
