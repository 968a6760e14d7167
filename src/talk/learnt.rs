//! The talk about a learnt line: it is kept as it was heard, and the player may correct it but need not.

use std::time::Duration;

use crossbeam_channel::{Receiver, RecvTimeoutError};

use crate::engine;
use crate::learn::{Correction, LearnError, LearnedPattern, LineDraft, Pulse};
use crate::music::{Concert, ConcertKey};
use crate::pattern::{Family, Library};
use crate::talk::failure::Failure;
use crate::talk::learn_typed::{mends, new_name};
use crate::talk::line_source::unlearnt;
use crate::talk::microphone::{Microphone, NoteOrWords};
use crate::talk::output::{part, say};
use crate::talk::own_patterns::SavedPatterns;
use crate::talk::player::{Who, tempo};
use crate::words::learnt;

const HOW: &str = "Nothing more need be done: an empty line ends. To change it, type
  3=b7 (the degree of note 3, counted as above; 3=b7, is an octave lower, 3=9 higher)
  3=. (a rest)   3=- (the note before holds on)
  key Eb   tempo 96   family skips   name blue fall   straight (no swing)";

/// What was typed.
enum Said {
    End,
    Mends(Vec<Correction>),
    Key(String),
    Tempo(f64),
    Straight,
    Family(Family),
    Name(String),
    Again,
}

/// The talk about one learnt line.
pub struct Talk {
    who: Who,
    library: Library,
    own: SavedPatterns,
    /// The line as it was first heard, with what was given on the command line.
    first: LineDraft,
    draft: LineDraft,
    live: Option<Microphone>,
    typed: Receiver<String>,
}

impl Talk {
    /// A talk about `draft`, on a terminal; with a microphone it can be played again.
    pub fn new(
        who: Who,
        library: Library,
        own: SavedPatterns,
        draft: LineDraft,
        live: Option<Microphone>,
    ) -> Result<Self, Failure> {
        let typed = engine::typed_lines().map_err(|error| Failure::device(error, "Close other programs."))?;
        Ok(Self { who, library, own, first: draft.clone(), draft, live, typed })
    }

    /// Shows the line, keeps it and asks for changes, until an empty line.
    pub fn run(mut self, mends: &[Correction]) -> Result<(), Failure> {
        let mut learnt = self.learn()?;
        if !mends.is_empty() {
            self.mend(mends, &learnt)?;
            learnt = self.learn()?;
        }
        self.show(&learnt)?;
        say(HOW)?;
        if self.live.is_some() {
            say("  again (play it once more)")?;
        }
        loop {
            let said = match self.ask("> ") {
                Some(text) => self.read(&text),
                None => Ok(Said::End),
            };
            let before = self.draft.clone();
            let done = match said {
                Ok(Said::End) => return say(self.own.kept(&learnt.pattern)),
                Ok(said) => self.change(said, &learnt).and_then(|()| self.learn()),
                Err(failure) => Err(failure),
            };
            let done = done.and_then(|learnt| self.show(&learnt).map(|()| learnt));
            match done {
                Ok(better) => learnt = better,
                Err(failure) => {
                    self.draft = before;
                    say(format!("  {failure}"))?;
                }
            }
        }
    }

    fn show(&self, learnt: &LearnedPattern) -> Result<(), Failure> {
        say("")?;
        learnt::lines(learnt, &self.who.page).into_iter().try_for_each(say)?;
        self.own.keep(&learnt.pattern)?;
        say(format!("\nkept as {}\n", learnt.pattern.id))
    }

    /// The next line typed; `None` when no more will come, or, with a microphone, after control-c.
    fn ask(&self, prompt: &str) -> Option<String> {
        part(prompt);
        loop {
            match self.typed.recv_timeout(Duration::from_millis(100)) {
                Ok(line) => return Some(line),
                Err(RecvTimeoutError::Disconnected) => return None,
                Err(RecvTimeoutError::Timeout) if self.live.as_ref().is_some_and(Microphone::stopped) => return None,
                Err(RecvTimeoutError::Timeout) => {}
            }
        }
    }

    /// Makes the pattern. Where its root cannot be known, it is asked for: typed, or with a microphone played.
    fn learn(&mut self) -> Result<LearnedPattern, Failure> {
        loop {
            let why = match self.draft.learn(&self.library) {
                Ok(learnt) => return Ok(learnt),
                Err(why) => why,
            };
            if !matches!(why, LearnError::Root(_)) {
                return Err(unlearnt(&why));
            }
            say(why)?;
            let first = self.draft.played.first().map_or(Concert(60), |note| note.pitch);
            let usual = self.who.major_key(ConcertKey(first.class()));
            let held = if self.live.is_some() { "Hold the root for a second, or type it" } else { "Which is it" };
            let prompt = format!("{held}, as on your page [{usual}, the first note]: ");
            let mut answer = match &mut self.live {
                Some(microphone) => {
                    part(&prompt);
                    microphone.note_or_words(&self.typed)
                }
                None => self.ask(&prompt).map_or(NoteOrWords::Ended, NoteOrWords::Typed),
            };
            if let NoteOrWords::Lost(failure) = answer {
                say(format!("\n  {failure}"))?;
                answer = self.ask("Type it: ").map_or(NoteOrWords::Ended, NoteOrWords::Typed);
            }
            match answer {
                NoteOrWords::Held(pitch) => {
                    self.draft.key = Some(ConcertKey(pitch.class()));
                    say(self.who.major_key(ConcertKey(pitch.class())))?;
                }
                NoteOrWords::Ended | NoteOrWords::Lost(_) => {
                    return Err(Failure::usage("the root was not told", "Give --key Eb, as on your page."));
                }
                NoteOrWords::Typed(text) if text.trim().is_empty() => self.draft.key = Some(ConcertKey(first.class())),
                NoteOrWords::Typed(text) => match self.who.key(text.trim()) {
                    Ok(key) => self.draft.key = Some(key),
                    Err(failure) => say(format!("  {failure}"))?,
                },
            }
        }
    }

    fn read(&self, text: &str) -> Result<Said, Failure> {
        let text = text.trim();
        let (word, rest) = text.split_once(' ').unwrap_or((text, ""));
        match (word.to_lowercase().as_str(), rest.trim()) {
            ("", _) => Ok(Said::End),
            ("again", _) if self.live.is_some() => Ok(Said::Again),
            ("straight", _) => Ok(Said::Straight),
            ("key", key) => Ok(Said::Key(key.to_owned())),
            ("name", name) => Ok(Said::Name(name.to_owned())),
            ("tempo", quarter) => quarter
                .parse()
                .map(Said::Tempo)
                .map_err(|_| Failure::usage(format!("\"{quarter}\" is no tempo"), "Such as: tempo 96.")),
            ("family", name) => {
                let means = |family: &&(&str, Family)| family.0.eq_ignore_ascii_case(&name.replace('-', " "));
                let family = Family::NAMES.iter().find(means).map(|family| Said::Family(family.1));
                family.ok_or_else(|| {
                    Failure::usage(format!("no family is called \"{name}\""), "stepwise, half steps, skips or phrase.")
                })
            }
            // A comma does not part two corrections: it belongs to a degree.
            _ => mends(&text.split_whitespace().map(str::to_owned).collect::<Vec<_>>()).map(Said::Mends),
        }
    }

    fn change(&mut self, said: Said, learnt: &LearnedPattern) -> Result<(), Failure> {
        match said {
            Said::End => {}
            Said::Mends(mends) => self.mend(&mends, learnt)?,
            Said::Key(key) => self.draft.set_key(self.who.key(&key)?),
            Said::Tempo(quarter) => self.draft.pulse = tempo(Some(quarter))?.map(Pulse::given),
            Said::Straight => self.draft.straight = true,
            Said::Family(family) => self.draft.family = Some(family),
            Said::Name(name) => self.draft.name = new_name(&name, &self.library)?,
            Said::Again => {
                if let Some(microphone) = &mut self.live {
                    let (played, name) = (microphone.line()?, self.draft.name.clone());
                    self.draft = LineDraft { played, name, ..self.first.clone() };
                }
            }
        }
        Ok(())
    }

    fn mend(&mut self, mends: &[Correction], learnt: &LearnedPattern) -> Result<(), Failure> {
        self.draft.mend(mends, learnt).map_err(|no| Failure::usage(no, "Notes count from 1, such as 3=b7."))
    }
}
