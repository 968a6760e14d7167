use crate::coach::Reason;
use crate::cue::{Cue, Timing};
use crate::drill::CueSpan;
use crate::music::Intonation;
use crate::notes::{AnswerEnd, AnswerSoFar, HeardNote, NoteEvent, Silence};
use crate::units::{Beats, Seconds, rank};
use crate::verdict::{Expectation, Judge, Reflex, TimeOrigin, Untimed, UsualTuning, Verdict};

/// Notes that begin at most this long before the end of the cue belong to the answer too: the player began too soon.
const JUMP: Seconds = Seconds(0.5);
/// How long, from the instant on from which an answer is waited for, the drill waits for a player who has only tried notes while the cue
/// sounded.
const PONDERS: Seconds = Seconds(2.5);

/// How a trial ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Outcome {
    /// The player sounded nothing.
    Nothing,
    /// The player sounded something, be it another line.
    Answered,
}

/// A trial that is not over: one cue and what is heard for it. Once the trial is judged, the record has it as a `session::Trial`.
#[derive(Debug, Clone)]
pub(super) struct OpenTrial {
    /// What is asked.
    pub cue: Cue,
    /// Why it is asked.
    pub reason: Reason,
    /// Where the sound of the cue lies; `None` until the loudspeaker has the sound.
    pub span: Option<CueSpan>,
    /// The notes of the answer so far, in order of onset.
    pub heard: Vec<HeardNote>,
    /// Numbers of notes that were played into the cue and are no part of the answer.
    noodled: Vec<u32>,
    /// Numbers of the notes of the answer that still sound.
    open: Vec<u32>,
    /// Judges the answer as it grows; `None` until the place of the cue is known.
    judge: Option<Judge>,
    /// The verdict as it stands, once it may be shown though the last note perhaps still sounds.
    pub at_once: Option<Verdict>,
    intonation: Intonation,
    delay: Option<Seconds>,
    usual: UsualTuning,
    /// Whether a stream had an xrun since the cue, or the round that it belongs to, was ordered.
    pub xrun: bool,
}

impl OpenTrial {
    /// A trial whose cue does not sound yet; `delay` of the devices is `None` where it was not measured.
    pub fn new(cue: Cue, reason: Reason, intonation: Intonation, delay: Option<Seconds>, usual: UsualTuning) -> Self {
        Self {
            cue,
            reason,
            span: None,
            heard: Vec::new(),
            noodled: Vec::new(),
            open: Vec::new(),
            judge: None,
            at_once: None,
            intonation,
            delay,
            usual,
            xrun: false,
        }
    }

    /// Learns where the sound of the cue lies.
    pub fn lay(&mut self, span: CueSpan) {
        self.span = Some(span);
        self.judge = self.asked().map(Judge::new);
    }

    /// What the answer is compared with; `None` until the cue was laid out.
    pub fn asked(&self) -> Option<Expectation> {
        let span = self.span?;
        let clock = match span.beat_zero {
            Some(beat_zero) if self.cue.timing == Timing::InTempo => {
                TimeOrigin::InTempo { cue_end: span.end, beat_zero }
            }
            _ => TimeOrigin::Free { cue_end: span.end },
        };
        let line = self.cue.line.clone();
        Some(Expectation {
            line,
            tempo: self.cue.tempo,
            clock,
            delay: self.delay,
            intonation: self.intonation,
            usual: self.usual,
        })
    }

    /// Takes in what the ear tells; `true` when it belongs to this answer.
    pub fn hear(&mut self, event: &NoteEvent) -> bool {
        let Some(span) = self.span else { return false };
        let note = event.note();
        if self.noodled.contains(&note.number) {
            return false;
        }
        let known = self.heard.iter().position(|held| held.number == note.number);
        match (event, known) {
            (_, Some(place)) => self.heard[place] = *note,
            (NoteEvent::On(_) | NoteEvent::Off(_), None) if note.onset.0 >= span.end.0 - JUMP.0 => {
                self.heard.push(*note)
            }
            _ => return false,
        }
        self.open.retain(|&number| number != note.number);
        if !matches!(event, NoteEvent::Off(_)) {
            self.open.push(note.number);
        }
        self.heard.sort_by_cached_key(|note| rank(note.onset.0));
        let early = self.judge.as_mut().and_then(|judge| judge.at_once(&self.heard));
        let early = self.without_noodling(early, |judge, heard| judge.at_once(heard));
        self.at_once = early.map(|verdict| self.trusted(verdict));
        true
    }

    /// The verdict without the notes that began before the end of the cue, where the player only tried them and the answer came after.
    /// Those notes are left out from here on; in all other cases `verdict` stays as it is.
    fn without_noodling(
        &mut self,
        verdict: Option<Verdict>,
        judged: impl Fn(&mut Judge, &[HeardNote]) -> Option<Verdict>,
    ) -> Option<Verdict> {
        let whole = |verdict: &Verdict| verdict.related && verdict.right == verdict.of && verdict.extra == 0;
        let Some(span) = self.span.filter(|_| !verdict.as_ref().is_some_and(whole)) else { return verdict };
        let (before, after): (Vec<HeardNote>, Vec<HeardNote>) =
            self.heard.iter().copied().partition(|note| note.onset.0 < span.end.0);
        if before.is_empty() || after.is_empty() {
            return verdict;
        }
        let rest = self.judge.as_mut().and_then(|judge| judged(judge, &after));
        let better = rest.as_ref().is_some_and(|rest| {
            whole(rest) || (rest.related && verdict.as_ref().is_some_and(|verdict| !verdict.related))
        });
        if !better {
            return verdict;
        }
        self.noodled.extend(before.iter().map(|note| note.number));
        self.open.retain(|number| !self.noodled.contains(number));
        self.heard = after;
        rest
    }

    /// The verdict on what was heard so far; `None` until the cue was laid out.
    pub fn verdict(&mut self) -> Option<Verdict> {
        let verdict = self.judge.as_mut().map(|judge| judge.verdict(&self.heard));
        let verdict = self.without_noodling(verdict, |judge, heard| Some(judge.verdict(heard)))?;
        Some(self.trusted(verdict))
    }

    /// A verdict without what cannot be trusted: across an xrun no reflex time counts, and nothing is said of
    /// early or late.
    fn trusted(&self, mut verdict: Verdict) -> Verdict {
        if self.xrun {
            (verdict.late, verdict.begun) = (None, None);
            if let Some(TimeOrigin::InTempo { .. }) = self.asked().map(|asked| asked.clock) {
                verdict.untimed = Some(Untimed::Xrun);
            }
            verdict.reflex = verdict.reflex.map(|reflex| Reflex { counted: false, ..reflex });
        }
        verdict
    }

    /// Whether no note of this answer sounds any more.
    pub fn silent(&self) -> bool {
        self.open.is_empty()
    }

    /// The instant from which an answer is waited for.
    fn begins(&self) -> Option<Seconds> {
        self.span.map(|span| span.beat_zero.unwrap_or(span.end))
    }

    /// Whether the answer is over at `now`, and how.
    pub fn over(&self, now: Seconds) -> Option<Outcome> {
        let (begins, tempo) = (self.begins()?, self.cue.tempo);
        let (length, rest) = (tempo.lasting(self.cue.line.length), tempo.lasting(self.longest_rest()));
        let end = AnswerEnd::asked(begins, tempo, length, rest, self.cue.timing == Timing::InTempo);
        let last = self.heard.iter().map(|note| note.release).reduce(Seconds::max);
        let newest = self.heard.last().map(|note| note.onset);
        let answer = AnswerSoFar { last, newest, sounding: !self.silent(), complete: self.at_once.is_some() };
        match end.at(now, answer) {
            Silence::Waiting | Silence::Sounding => None,
            Silence::Never => Some(Outcome::Nothing),
            // Notes that were tried while the cue sounded are no answer: it may still come.
            Silence::Ended if self.tried_only() && now.0 < begins.0 + PONDERS.0 => None,
            Silence::Ended => Some(Outcome::Answered),
        }
    }

    /// Whether every note began before the end of the cue and the answer is not complete.
    fn tried_only(&self) -> bool {
        self.at_once.is_none() && self.span.is_some_and(|span| self.heard.iter().all(|note| note.onset.0 < span.end.0))
    }

    /// The longest rest inside the line: silence of that length is part of the answer.
    fn longest_rest(&self) -> Beats {
        let rests = self.cue.line.notes.windows(2).map(|pair| pair[1].at - (pair[0].at + pair[0].length));
        rests.fold(Beats(0.0), Beats::max)
    }
}
