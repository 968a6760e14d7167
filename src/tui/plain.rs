use std::mem::{Discriminant, discriminant};

use crate::drill::{Face, Snapshot, SparedPart};
use crate::session::PauseCause;
use crate::tui::model::Appearance;
use crate::tui::view::{lost, pause_words};
use crate::words;
use crate::words::SoundFault;
use crate::words::numbers::{capital, count, numbered};
use crate::words::spared;

/// Number of the last beats before the answer that are said where the key is told late; elsewhere the count is a bar of the meter.
const COUNT: u32 = 4;

/// The drill as plain lines without cursor movement: each line says once, in words, what the screen would show.
#[derive(Debug, Clone)]
pub struct Plain {
    look: Appearance,
    begun: bool,
    title: String,
    cue: u32,
    /// Number of the last cue whose key was said, where keys are told late.
    key_said: u32,
    /// Number of the last block whose task was said, and of the last whose number was asked.
    block: (u32, u32),
    /// Number of blocks whose number was said.
    counted: u32,
    /// Number of the last round that was summed up.
    round: u32,
    count: Option<u32>,
    turn: u32,
    verdict: (u32, String),
    next: u32,
    named: u32,
    moved: u32,
    contested: u32,
    /// Why the drill waits, as it was said last; `None` where it goes on.
    paused: Option<PauseCause>,
    /// How far the turn away from the instrument is that was said last; `None` outside such turns.
    spared: Option<SparedPart>,
    lost: bool,
    over: bool,
    /// The kind of the last fault that was said among those that do not stop the drill.
    wrong: Option<Discriminant<SoundFault>>,
}

impl Plain {
    /// A page with nothing on it yet.
    #[must_use]
    pub const fn new(look: Appearance) -> Self {
        let verdict = (0, String::new());
        let title = String::new();
        Self {
            look,
            begun: false,
            title,
            cue: 0,
            key_said: 0,
            block: (0, 0),
            counted: 0,
            round: 0,
            count: None,
            turn: 0,
            verdict,
            next: 0,
            named: 0,
            moved: 0,
            contested: 0,
            paused: None,
            spared: None,
            lost: false,
            over: false,
            wrong: None,
        }
    }

    /// The lines that this snapshot adds.
    pub fn lines(&mut self, snapshot: &Snapshot) -> Vec<String> {
        let mut lines = Vec::new();
        let paused = match snapshot.face {
            Face::Paused { cause, .. } => Some(cause),
            _ => None,
        };
        if self.paused.is_some() && paused.is_none() && snapshot.face != Face::Over {
            lines.push("it goes on".to_owned());
        }
        if !std::mem::replace(&mut self.begun, true) {
            lines.extend(self.look.out_of_range(snapshot));
        }
        if snapshot.dropped > 0 && !std::mem::replace(&mut self.lost, true) {
            lines.push(lost(snapshot));
        }
        // Said only when the kind of fault is another than the last that was said, because its figure may change all the time.
        if let Some(fault) = snapshot.trouble.filter(|fault| !fault.stops())
            && self.wrong.replace(discriminant(&fault)) != Some(discriminant(&fault))
        {
            lines.push(fault.sentence(None));
        }
        if let (Some(cue), Face::Listen { .. } | Face::YourTurn { .. }) = (&snapshot.cue, snapshot.face) {
            if cue.number != self.cue {
                self.cue = cue.number;
                if cue.title != self.title && !cue.by_ear {
                    self.title = cue.title.clone();
                    lines.push(format!("pattern · {}", cue.title));
                }
                let counted = cue.counts_in() && cue.round.is_none();
                let beats = count(cue.meter.count() as usize);
                let count = if counted { format!(" · count of {beats}") } else { String::new() };
                let tempo = format!("quarter = {:.0}", cue.tempo.0);
                lines.push(match cue.warning {
                    _ if cue.by_ear => format!("listen · by ear{count} · {tempo}"),
                    None => format!("listen · {}{count} · {tempo}", self.look.page.key(cue.key, cue.spelling.mode)),
                    Some(_) => format!("listen · the key comes late · {tempo}"),
                });
            }
            if cue.warning.is_some() && !cue.by_ear && snapshot.key_known && self.key_said != cue.number {
                self.key_said = cue.number;
                lines.push(format!("key · {}", self.look.page.key(cue.key, cue.spelling.mode)));
            }
            if matches!(snapshot.face, Face::YourTurn { .. }) && self.turn != cue.number {
                self.turn = cue.number;
                lines.push("your turn".to_owned());
            }
            self.counts(snapshot, &mut lines);
        }
        match snapshot.face {
            Face::Verdict { settled: true, .. } => self.judged(snapshot, &mut lines),
            Face::BlockBegins | Face::HowMany => self.beside(snapshot, &mut lines),
            Face::RoundOver { .. } => self.round_over(snapshot, &mut lines),
            // A pause may become a rest while a note is held.
            Face::Paused { cause, until } if self.paused != Some(cause) => {
                let (why, on) = pause_words(snapshot, cause, until);
                lines.push(format!("{why}: {on}"));
            }
            Face::Over if !self.over => self.ended(snapshot, &mut lines),
            _ => {}
        }
        self.spared(snapshot, &mut lines);
        self.paused = paused;
        lines
    }

    /// What stands at the end.
    fn ended(&mut self, snapshot: &Snapshot, lines: &mut Vec<String>) {
        self.over = true;
        let answers = numbered(snapshot.answers as usize, "answer");
        lines.push(format!("end · {answers} in {:.1} minutes", snapshot.at.0 / 60.0));
        lines.extend((snapshot.dropped > 0).then(|| lost(snapshot)));
        if !snapshot.also.is_empty() {
            lines.push(format!("{}:", snapshot.title));
        }
        lines.extend(crate::tui::three(&self.look, snapshot));
        lines.extend(words::warned::sentences(&snapshot.warned));
        let divided = snapshot.second_task.iter();
        lines.extend(divided.flat_map(|it| words::divided::sentences(&it.cost, &it.counts)));
    }

    /// Says what is to be counted in a block, asks for its number after it, and then says how many sounded and how many were
    /// counted; each once.
    fn beside(&mut self, snapshot: &Snapshot, lines: &mut Vec<String>) {
        let Some(shown) = &snapshot.second_task else { return };
        if snapshot.face == Face::HowMany {
            if std::mem::replace(&mut self.block.1, shown.block) != shown.block {
                lines.push(format!("count · {} Play so many notes.", words::divided::question(shown.counted)));
            }
        } else if std::mem::replace(&mut self.block.0, shown.block) != shown.block {
            let newest = shown.newest.filter(|_| shown.counts.blocks != self.counted);
            self.counted = shown.counts.blocks;
            lines.extend(newest.map(|(sounded, said)| format!("counted · {}", words::divided::answer(sounded, said))));
            lines.push(format!("block {} · {}", shown.block, words::divided::task(shown.counted)));
        }
    }

    /// Says once what is to be sung or fingered, and once when.
    fn spared(&mut self, snapshot: &Snapshot, lines: &mut Vec<String>) {
        let Face::Spared { turn, part, first } = snapshot.face else {
            self.spared = None;
            return;
        };
        let before = self.spared.replace(part);
        if before.is_none() {
            let (what, how) = (self.look.spared(snapshot), spared::how(turn, false));
            lines.push(format!(
                "{} · {what}: {how}; {}",
                spared::turn(turn),
                spared::spares(self.look.page.instrument.sounding)
            ));
            lines.extend(first.then(|| spared::KNOWN.to_owned()));
        }
        if part == SparedPart::Yours && before != Some(part) {
            lines.push(spared::how(turn, true).to_owned());
        }
    }

    /// Says once how a round came out.
    fn round_over(&mut self, snapshot: &Snapshot, lines: &mut Vec<String>) {
        let Some(round) = snapshot.round.as_ref().filter(|round| round.number != self.round) else { return };
        self.round = round.number;
        let (right, missed) = self.look.round(round);
        lines.push(format!("round {} · {right} all right and in time", round.number));
        lines.extend(missed);
    }

    /// The beats of a count, each at its moment: before the cue, and before an answer in tempo.
    fn counts(&mut self, snapshot: &Snapshot, lines: &mut Vec<String>) {
        let left = match snapshot.face {
            Face::Listen { beats_left } | Face::YourTurn { beats_left, .. } => beats_left,
            _ => None,
        };
        if left != self.count {
            self.count = left;
            // Where the key is told late, the last four beats before the answer are said; else a bar is counted.
            let bar = snapshot.cue.as_ref().filter(|cue| cue.warning.is_none()).map_or(COUNT, |cue| cue.meter.count());
            lines.extend(left.filter(|left| *left <= bar).map(|left| format!("count · {}", bar + 1 - left)));
        }
    }

    fn judged(&mut self, snapshot: &Snapshot, lines: &mut Vec<String>) {
        let Some(judged) = &snapshot.judged else { return };
        let shown = (judged.cue.number, judged.sentence.clone());
        if shown != self.verdict {
            let again = shown.0 == self.verdict.0;
            if judged.cue.by_ear && !again {
                let key = self.look.page.key(judged.cue.key, judged.cue.spelling.mode);
                lines.push(format!("it was · {key} · {}", judged.cue.title));
            }
            lines.push(if again { format!("after all: {}", judged.sentence) } else { judged.sentence.clone() });
            self.verdict = shown;
            let time = words::verdict::time(&judged.verdict, judged.cue.timing, &judged.cue.line, judged.cue.tempo);
            lines.extend(time.map(|time| format!("time · {time}")));
            lines.extend(words::verdict::in_time(&judged.in_time));
            lines.extend(judged.hint.iter().map(|hint| capital(hint) + "."));
            if !judged.parts.is_empty() && !again {
                lines.push(format!("made of · {}", words::patterns::parts(&judged.parts)));
            }
        }
        if let (Some(fault), true) = (&judged.recurring, self.named != judged.cue.number) {
            self.named = judged.cue.number;
            lines.push(fault.clone());
        }
        if let (Some(moved), true) = (&judged.moved, self.moved != judged.cue.number) {
            self.moved = judged.cue.number;
            let moved = words::reason::moved(moved.step, judged.cue.tempo, moved.next, moved.doubted);
            lines.push(format!("tempo · {moved}"));
        }
        if judged.contested && self.contested != judged.cue.number {
            self.contested = judged.cue.number;
            lines.push(words::reason::CONTESTED.to_owned());
        }
        // What comes next is known a little later than the verdict: once the answer is surely over.
        if let (Some(next), true) = (&snapshot.next, self.next != judged.cue.number) {
            self.next = judged.cue.number;
            lines.push(format!("next · {}", self.look.why(next)));
        }
    }
}
