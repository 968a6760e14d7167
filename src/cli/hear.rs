//! The sound check: level, noise, the note that is heard and how far it lies from its pitch, and what to change.

use std::io::{IsTerminal, Write};
use std::thread;
use std::time::Duration;

use crate::cli::args::{Drill, Hear};
use crate::cli::failure::Failure;
use crate::cli::meant::Who;
use crate::cli::notes::{ear_settings, read};
use crate::cli::{drill, say};
use crate::devices::{Devices, Side, Want, Wanted};
use crate::engine::{Listener, Stretch};
use crate::files::{Places, Settings};
use crate::notes::{Frame, HeardNote, Told};
use crate::report::{self, Holding, Run};
use crate::room::{Echo, Opinion, SoundCheck};
use crate::tui;
use crate::units::{Cents, Hertz, SampleRate, Seconds};
use crate::words::numbers::{numbered, signed};

/// So long is listened to before an opinion is given.
const OPINION: Seconds = Seconds(10.0);
/// A peak below this is no sound at all (16 bits end at -96 dB).
const NOTHING: f64 = -120.0;
/// One line of the live state, so often.
const LINE: Seconds = Seconds(0.2);

/// The sound check.
pub fn run(typed: &Hear) -> Result<(), Failure> {
    let places = Places::usual()?;
    let settings = Settings::load(&places)?;
    let who = Who::of(&typed.player, &settings)?;
    if let Some(file) = &typed.file {
        let clip = read(file)?;
        let mut check = Listening::new(&who, clip.rate, true);
        let mut at = Seconds(0.0);
        for block in clip.samples.chunks(512) {
            check.hear(Stretch { at, rate: clip.rate, gap: Seconds(0.0) }, block);
            at = at + clip.rate.seconds(block.len());
        }
        return check.finish(&who, typed.json);
    }
    let named = Drill { input: typed.input.clone(), ..Drill::default() };
    let wanted = Wanted { output: Want::Nothing, ..drill::wanted(&named, &settings) };
    let opened = drill::open(&wanted);
    let mut devices = opened.map_err(|failure| Failure::device(failure, "earfirst devices lists what is there."))?;
    let rate = devices.about(Side::Input).map_or(SampleRate::DEVICE, |about| about.rate);
    let mut check = Listening::new(&who, rate, false);
    live(typed, &who, &mut devices, &mut check)?;
    check.finish(&who, typed.json)
}

/// Listens until asked to end, with a line of text that is written anew on a terminal.
fn live(typed: &Hear, who: &Who, devices: &mut Devices, check: &mut Listening) -> Result<(), Failure> {
    let asked = tui::interrupts().map_err(|error| Failure::device(error, ""))?;
    let on_screen = std::io::stdout().is_terminal() && !typed.json;
    if on_screen {
        say("Play and be silent by turns; an opinion comes after ten seconds. Control-c ends.")?;
    }
    let mut block = Vec::new();
    let (mut shown, mut judged) = (Seconds(0.0), false);
    while !asked.raised() && typed.seconds.is_none_or(|most| check.listened().0 < most) {
        while let Some(heard) = devices.read(&mut block) {
            check.hear(Stretch { at: heard.at, rate: heard.rate, gap: heard.gap }, &block);
        }
        let listened = check.listened();
        if on_screen && (listened - shown).0 >= LINE.0 {
            shown = listened;
            print!("\r{:78}", check.line(who));
            let _ = std::io::stdout().flush();
        }
        if on_screen && !judged && listened.0 >= OPINION.0 {
            judged = true;
            println!();
            for opinion in check.opinions() {
                say(opinion)?;
            }
        }
        thread::sleep(Duration::from_millis(10));
    }
    if on_screen {
        println!();
    }
    Ok(())
}

/// Ear and sound check side by side.
struct Listening {
    listener: Listener,
    check: SoundCheck,
    notes: Vec<HeardNote>,
    holding: Holding,
    now: Option<HeardNote>,
    a4: Hertz,
    /// A recording: what is wrong with a microphone cannot be mended any more.
    recorded: bool,
}

impl Listening {
    fn new(who: &Who, rate: SampleRate, recorded: bool) -> Self {
        let settings = ear_settings(rate, who.a4, Some(&who.instrument));
        Self {
            listener: Listener::new(settings, Echo::new(rate)),
            check: SoundCheck::new(rate),
            notes: Vec::new(),
            holding: Holding::default(),
            now: None,
            a4: who.a4,
            recorded,
        }
    }

    fn hear(&mut self, stretch: Stretch, block: &[f32]) {
        self.check.hear(block);
        let mut frames = Vec::new();
        let said = self.listener.hear(stretch, block, &mut |frame| frames.push(*frame)).to_vec();
        self.take(&frames, &said);
    }

    fn take(&mut self, frames: &[Frame], said: &[Told]) {
        frames.iter().for_each(|frame| self.holding.frame(frame, self.a4));
        for told in said {
            self.holding.note(told);
            self.now = match told {
                Told::Began(note) | Told::Mended(note) => Some(*note),
                Told::Ended(note) => {
                    self.notes.push(*note);
                    None
                }
            };
        }
    }

    fn listened(&self) -> Seconds {
        self.check.listened()
    }

    fn opinions(&self) -> Vec<String> {
        let mut found = self.check.opinions();
        if self.recorded {
            if found.iter().any(|opinion| matches!(opinion, Opinion::Zeros { .. })) {
                return vec!["nothing but silence is in this recording".to_owned()];
            }
            // Made sound has no noise by which to tell where a headset's band ends.
            found.retain(|opinion| !matches!(opinion, Opinion::Wireless { .. }));
        }
        if found.is_empty() {
            return vec!["the sound is good: nothing to change".to_owned()];
        }
        found.iter().map(opinion).collect()
    }

    /// One line: level, floor, and the note that sounds, with its distance as a signed number.
    fn line(&self, who: &Who) -> String {
        let levels = self.check.levels();
        let note = self.now.map_or("-".to_owned(), |note| {
            let name = who.note_name(note.pitch);
            format!("{name} {} cents", signed(note.pitch.cents_off()))
        });
        format!("level {:4.0} dB   noise {:4.0} dB   {note}", levels.now.0, levels.floor.0)
    }

    fn finish(mut self, who: &Who, json: bool) -> Result<(), Failure> {
        let said = self.listener.finish().to_vec();
        self.take(&[], &said);
        let run = Run::of(&self.notes, self.holding.held());
        let levels = self.check.levels();
        if json {
            return say(serde_json::json!({
                "peak_db": levels.peak.0, "floor_db": levels.floor.0, "notes": self.notes.len(),
                "opinions": self.opinions(), "run": run_json(&run),
            }));
        }
        let noise = if self.check.paused() {
            format!("noise {:.0} dB", levels.floor.0)
        } else {
            "no pause to measure the noise in".to_owned()
        };
        let peak = if levels.peak.0 < NOTHING {
            "no sound".to_owned()
        } else {
            format!("peak {:.0} dB", levels.peak.0.round() + 0.0)
        };
        say(format!("{peak}, {noise}, {}", numbered(self.notes.len(), "note")))?;
        for opinion in self.opinions() {
            say(opinion)?;
        }
        say(report::run_to_text(&run, &who.instrument, who.g_flat, &|pitch| who.note_name(pitch)).trim_end())
    }
}

/// The table of a run; cents of a row have the general offset taken out.
fn run_json(run: &Run) -> serde_json::Value {
    let cents = |value: Option<Cents>| value.map(|cents| cents.0);
    let rows = run.rows.iter().map(|row| {
        serde_json::json!({
            "midi": row.pitch.0, "times": row.times, "up_cents": cents(row.up), "down_cents": cents(row.down),
            "all_cents": row.all.0, "spread_cents": row.spread.0,
        })
    });
    let held = run.held.iter().map(|tone| {
        serde_json::json!({
            "lasted_s": tone.length.0, "midi": tone.centre.0, "drift_cents": tone.drift.0, "spread_cents": tone.spread.0,
            "vibrato_hz": tone.vibrato.map(|vibrato| vibrato.rate.0),
            "vibrato_cents": tone.vibrato.map(|vibrato| vibrato.extent.0),
        })
    });
    serde_json::json!({
        "offset_cents": cents(run.offset), "drift_cents": cents(run.drift),
        "pitches": rows.collect::<Vec<_>>(), "held": held.collect::<Vec<_>>(),
    })
}

/// An opinion in a sentence, with what to change.
fn opinion(opinion: &Opinion) -> String {
    match opinion {
        Opinion::TooSoft { peak } => format!("too soft (peaks at {:.0} dB): go nearer, or turn the input up", peak.0),
        Opinion::Clipping { samples } => {
            format!("too loud ({samples} samples at full scale): turn the input down, or go farther off")
        }
        Opinion::Noisy { floor } => {
            format!("noisy room ({:.0} dB): shut the window, or go nearer to the microphone", floor.0)
        }
        Opinion::Hum { mains, level } => {
            format!("hum of {:.0} Hz at {:.0} dB: another cable or socket, or unplug the charger", mains.0, level.0)
        }
        Opinion::GainControl { rise } => {
            format!("the input turns itself up by {:.0} dB in pauses: switch automatic gain off", rise.0)
        }
        Opinion::Gate { between } => {
            format!("the input goes dead between notes ({:.0} dB): switch noise suppression off", between.0)
        }
        Opinion::Zeros { lasting } => {
            format!("nothing at all for {:.0} s: unmute the microphone, or allow this terminal to use it", lasting.0)
        }
        Opinion::Wireless { above } => format!(
            "no sound above {:.0} Hz: a wireless headset is late and narrow; use a cable, or go without reflex times",
            above.0
        ),
    }
}
