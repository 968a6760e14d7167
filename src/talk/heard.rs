//! What the sound check says while it listens, and at its end: the sound, the table of the run, the notes to work on.

use std::io::IsTerminal;
use std::ops::ControlFlow;

use crate::engine::{DeviceAudio, HeardBlock, Listener};
use crate::music::Concert;
use crate::notes::{Frame, HeardNote, NoteEvent};
use crate::report::{self, HeldTone, HeldToneTracker, NoteMoved, RunIntonation};
use crate::room::{SecondVoice, SoundCheck};
use crate::talk::failure::Failure;
use crate::talk::output::{can_ask, part, say};
use crate::talk::player::Who;
use crate::tui;
use crate::units::{Hertz, Midi, SampleRate, Seconds};
use crate::words::numbers::{numbered, signed};
use crate::words::sound_check::{self, HeardThrough};

/// Time for which sound is listened to before an opinion is given.
const OPINION: Seconds = Seconds(10.0);
/// Time between two lines of the live state.
const LINE: Seconds = Seconds(0.2);

/// All that was heard in a sound check.
pub struct Heard {
    /// The levels.
    pub check: SoundCheck,
    /// The notes.
    pub notes: Vec<HeardNote>,
    /// The notes that were held.
    pub held: Vec<HeldTone>,
    /// How the other notes moved while they sounded.
    pub moved: Vec<NoteMoved>,
    /// The pitch of a second voice that holds below the line.
    pub below: Option<Midi>,
    /// Where the sound came from.
    pub source: HeardThrough,
}

/// What was heard so far: the levels, the notes, and the tones that were held.
pub struct InputCheck {
    /// The levels.
    pub check: SoundCheck,
    /// The notes that ended.
    pub notes: Vec<HeardNote>,
    holding: HeldToneTracker,
    second: SecondVoice,
    now: Option<HeardNote>,
    a4: Hertz,
}

impl InputCheck {
    /// A check that has heard nothing yet, at `rate`.
    pub fn new(rate: SampleRate, a4: Hertz) -> Self {
        Self {
            check: SoundCheck::new(rate),
            notes: Vec::new(),
            holding: HeldToneTracker::default(),
            second: SecondVoice::new(rate),
            now: None,
            a4,
        }
    }

    /// Takes in the next block of sound.
    pub fn hear(&mut self, block: HeardBlock<'_>) {
        self.check.hear(block.raw);
        self.second.hear(block.raw);
        self.take(block.frames, block.notes);
    }

    fn take(&mut self, frames: &[Frame], said: &[NoteEvent]) {
        frames.iter().for_each(|frame| self.holding.frame(frame, self.a4));
        for event in said {
            self.holding.note(event);
            self.now = match event {
                NoteEvent::On(note) | NoteEvent::Revised(note) => Some(*note),
                NoteEvent::Off(note) => {
                    self.notes.push(*note);
                    None
                }
            };
        }
    }

    /// How long the check has listened.
    pub fn listened(&self) -> Seconds {
        self.check.listened()
    }

    /// One line: level, floor, and the note that sounds, with its distance from tempered pitch in cents.
    pub fn line(&self, who: &Who) -> String {
        let levels = self.check.levels();
        let note = self.now.map_or("-".to_owned(), |note| {
            let name = who.page.heard(note.pitch);
            format!("{name} {} cents", signed(note.pitch.cents_off()))
        });
        format!("level {:4.0} dB   noise {:4.0} dB   {note}", levels.now.0, levels.floor.0)
    }

    /// Ends the check: all that was heard, with what became known at the very end.
    pub fn heard(mut self, last: &[NoteEvent], source: HeardThrough) -> Heard {
        self.take(&[], last);
        let (held, moved) = (self.holding.held().to_vec(), self.holding.moved().to_vec());
        let below = self.second.below(&self.notes, self.a4);
        Heard { check: self.check, notes: self.notes, held, moved, below, source }
    }
}

/// Listens until asked to end, at most `most` seconds; on a terminal, unless `quietly`, one line of text is written anew
/// all the time.
pub fn live(
    who: &Who,
    listener: &mut Listener<DeviceAudio>,
    check: &mut InputCheck,
    most: Option<f64>,
    quietly: bool,
) -> Result<(), Failure> {
    let asked = tui::interrupts().map_err(|error| Failure::device(error, ""))?;
    let on_screen = std::io::stdout().is_terminal() && !quietly;
    if on_screen {
        say("Play and be silent by turns; an opinion comes after ten seconds. Control-c ends.")?;
    }
    let (mut shown, mut judged) = (Seconds(0.0), false);
    listener.hear_blocks(|block| {
        if let Some(block) = block {
            check.hear(block);
            return ControlFlow::Continue(());
        }
        let listened = check.listened();
        if on_screen && (listened - shown).0 >= LINE.0 {
            shown = listened;
            part(format!("\r{:78}", check.line(who)));
        }
        if on_screen && !judged && listened.0 >= OPINION.0 {
            judged = true;
            if let Err(failure) = say_opinions(check) {
                return ControlFlow::Break(Err(failure));
            }
        }
        if asked.raised() || most.is_some_and(|most| listened.0 >= most) {
            return ControlFlow::Break(Ok(()));
        }
        ControlFlow::Continue(())
    })?;
    if on_screen {
        say("")?;
    }
    Ok(())
}

/// Says what was found about the sound so far, below the line of the live state.
fn say_opinions(check: &InputCheck) -> Result<(), Failure> {
    say("")?;
    sound_check::opinions(&check.check, check.notes.len(), HeardThrough::Microphone, None).into_iter().try_for_each(say)
}

/// Says what was heard, for a player or for machines; `begins_on` is the note on which the player says they began.
pub fn say_heard(heard: &Heard, who: &Who, json: bool, begins_on: Option<Concert>) -> Result<(), Failure> {
    let run = RunIntonation::of(&heard.notes, &heard.held, &heard.moved);
    let named = begins_on.map(|first| named(&run, heard, who, first)).transpose()?;
    let known = named.is_some();
    let run = named.unwrap_or(run);
    let below = heard.below.map(|pitch| who.page.heard(pitch));
    let opinions = sound_check::opinions(&heard.check, heard.notes.len(), heard.source, below.as_deref());
    if json {
        return say(report::sound_check_json(&heard.check, heard.notes.len(), &opinions, &run));
    }
    say(format!("{}, {}", sound_check::levels(&heard.check, heard.notes.len()), numbered(heard.notes.len(), "note")))?;
    for opinion in opinions {
        say(opinion)?;
    }
    let run = if known { run } else { asked(run, heard, who)? };
    say(report::run_to_text(&run, &who.page).trim_end())
}

/// The run with its notes named so that the first one is `first`.
fn named(run: &RunIntonation, heard: &Heard, who: &Who, first: Concert) -> Result<RunIntonation, Failure> {
    RunIntonation::begun_on(&heard.notes, &heard.held, &heard.moved, first).ok_or_else(|| match run.first {
        Some(begun) => {
            let what =
                format!("the first note heard is {}, and {} was named", who.page.pitch(begun), who.page.pitch(first));
            Failure::usage(what, "Name it within a half step, or look whether --instrument is right.")
        }
        None => Failure::usage("no clear note was heard to be named", "Leave --begins-on out."),
    })
}

/// Where the run has two readings, asks a player at the terminal for its first note.
fn asked(run: RunIntonation, heard: &Heard, who: &Who) -> Result<RunIntonation, Failure> {
    let talks = can_ask();
    let (Some(first), true, true) = (run.first, talks, run.other.is_some_and(|_| talks)) else { return Ok(run) };
    let beside = Concert(first.0 + if run.other.is_some_and(|other| other.0 < 0.0) { 1 } else { -1 });
    let (first, beside) = (who.page.pitch(first), who.page.pitch(beside));
    say(format!("\nYou stand about half of a half step off. Which note did you begin on, {first} or {beside}?"))?;
    let mut line = String::new();
    if std::io::stdin().read_line(&mut line).is_err() || line.trim().is_empty() {
        return Ok(run);
    }
    match who.note(line.trim()).and_then(|note| named(&run, heard, who, note)) {
        Ok(named) => Ok(named),
        Err(wrong) => {
            say(wrong)?;
            Ok(run)
        }
    }
}
