//! What the typed arguments mean: an instrument, keys, a range, patterns, a plan.

use crate::cli::args::{CueForm, Player, Scope};
use crate::cli::failure::Failure;
use crate::coach::{self, Goals, Plan, Unfit};
use crate::cue::{Form, Timing};
use crate::files::Settings;
use crate::music::{self, Concert, ConcertKey, Degree, Instrument, Level, Range, Spelled, Written, WrittenKey};
use crate::pattern::{self, Library, Pattern, PatternId, Register};
use crate::tui::Look;
use crate::units::{Hertz, Midi, Seconds, Tempo};
use crate::words;

/// Patterns for a first sitting: one of each family, short.
const FIRST_PATTERNS: [&str; 3] = ["five-note-row-up-and-down", "major-triad-up", "four-half-steps-up"];
/// Tempo of what was never asked before.
const FIRST_TEMPO: Tempo = Tempo(72.0);
/// Goals until the player sets their own.
pub const GOALS: Goals = Goals { tempo: Tempo(144.0), reflex: Seconds(0.8) };

/// Who plays, worked out from what was typed and what the settings hold.
#[derive(Debug, Clone)]
pub struct Who {
    /// The instrument.
    pub instrument: Instrument,
    /// Comfortable sounding range.
    pub range: Range,
    /// How far the player has come: whose bands of intonation hold. An own range does not change it.
    pub level: Level,
    /// Whose usual compass that is; `None` for the player's own.
    pub compass: Option<Level>,
    /// Reference pitch.
    pub a4: Hertz,
    /// Sounding pitch on screen and in arguments.
    pub concert: bool,
    /// Gb instead of F#.
    pub g_flat: bool,
}

impl Who {
    /// Works it out.
    pub fn of(typed: &Player, settings: &Settings) -> Result<Self, Failure> {
        let name = typed.instrument.as_deref().or(settings.instrument.as_deref()).unwrap_or("trumpet");
        let instrument = music::instrument(name)
            .map_err(|unknown| {
                Failure::usage(unknown, "Instruments are named like trumpet, alto-sax, guitar, tenor-voice.")
            })?
            .clone();
        let a4 = typed.a4.map_or(settings.a4(), Hertz);
        if !(415.0..=466.0).contains(&a4.0) {
            return Err(Failure::usage(format!("A4 = {} Hz is out of reach", a4.0), "Give 415 to 466."));
        }
        let concert = typed.concert;
        // A stored range is that of the stored instrument, and gives way to a compass that is typed.
        let stored = settings.range().filter(|_| settings.instrument.as_deref() == Some(&instrument.id));
        let stored = stored.filter(|_| typed.compass.is_none());
        let own = typed.range.as_deref().map(|text| range(text, &instrument, concert)).transpose()?.or(stored);
        let usual = typed.compass.map(Level::from).or(settings.compass()).or(settings.level()).unwrap_or_default();
        let compass = own.is_none().then_some(usual);
        let range = own.unwrap_or_else(|| instrument.range(usual));
        let level = settings.level().unwrap_or(usual);
        let instrument = instrument.at(level);
        let g_flat = typed.g_flat || settings.g_flat.unwrap_or(false);
        Ok(Self { instrument, range, level, compass, a4, concert, g_flat })
    }

    /// A written key (a sounding one with `--concert`) as it sounds.
    pub fn key(&self, text: &str) -> Result<ConcertKey, Failure> {
        let read = WrittenKey::parse(text).ok_or_else(|| {
            Failure::usage(
                format!("no key is called \"{text}\""),
                "Keys are C G D A E B F# Db Ab Eb Bb F (or Gb, C# ...).",
            )
        })?;
        Ok(if self.concert { ConcertKey(read.0) } else { self.instrument.concert_key(read) })
    }

    /// Several keys, or all twelve.
    pub fn keys(&self, text: Option<&str>) -> Result<Vec<ConcertKey>, Failure> {
        let Some(text) = text.filter(|text| !text.eq_ignore_ascii_case("all")) else {
            // The coach takes the first for the easiest where nothing is known: few accidentals on the page (common practice).
            let mut keys = ConcertKey::FIFTHS.to_vec();
            let accidentals = |key: &ConcertKey| {
                let place = ConcertKey(self.page_key(*key).0).place();
                place.min(12 - place)
            };
            keys.sort_by_key(accidentals);
            return Ok(keys);
        };
        let mut keys = Vec::new();
        for word in text.split([' ', ',']).filter(|word| !word.is_empty()) {
            let key = self.key(word)?;
            if !keys.contains(&key) {
                keys.push(key);
            }
        }
        if keys.is_empty() {
            return Err(Failure::usage("no key was named", "Name some, such as --keys \"C G D\", or all."));
        }
        Ok(keys)
    }

    /// How things are shown to this player.
    pub fn look(&self) -> Look {
        let colour = std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty());
        let today = Some(crate::files::today().day);
        Look { instrument: self.instrument.clone(), concert: self.concert, g_flat: self.g_flat, today, colour }
    }

    /// Name of a heard pitch on this player's page, with its octave.
    pub fn note_name(&self, heard: Midi) -> String {
        let concert = Concert(heard.nearest());
        let written = if self.concert { Written(concert.0) } else { self.instrument.written(concert) };
        music::spell(written, WrittenKey::C, self.g_flat).to_string()
    }

    /// Name of a sounding pitch on this player's page, with its octave.
    pub fn name(&self, pitch: Concert) -> String {
        self.note_name(Midi(f64::from(pitch.0)))
    }

    /// A note of this player's page (a sounding one with `--concert`) as it sounds.
    pub fn note(&self, text: &str) -> Result<Concert, Failure> {
        let mend = "Notes are written like C4 (middle C), F#4 or Bb3.";
        let spelled: Spelled = text.parse().map_err(|wrong| Failure::usage(wrong, mend))?;
        let written = Written(spelled.midi());
        Ok(if self.concert { Concert(written.0) } else { self.instrument.concert(written) })
    }

    /// The key on this player's page.
    pub fn page_key(&self, key: ConcertKey) -> WrittenKey {
        if self.concert { WrittenKey(key.0) } else { self.instrument.written_key(key) }
    }

    /// Name of a sounding key on this player's page.
    pub fn key_name(&self, key: ConcertKey) -> &'static str {
        self.page_key(key).name(self.g_flat)
    }
}

/// "G3 C6", written (or sounding), as a sounding range.
fn range(text: &str, instrument: &Instrument, concert: bool) -> Result<Range, Failure> {
    let mend = "Give lowest and highest note, such as --range \"G3 C6\"; C4 is middle C.";
    let words: Vec<&str> = text.split([' ', '-', ',']).filter(|word| !word.is_empty()).collect();
    let [low, high] = words[..] else {
        return Err(Failure::usage(format!("\"{text}\" is no range"), mend));
    };
    let pitch = |word: &str| -> Result<Concert, Failure> {
        let spelled: Spelled = word.parse().map_err(|wrong| Failure::usage(wrong, mend))?;
        let written = Written(spelled.midi());
        Ok(if concert { Concert(written.0) } else { instrument.concert(written) })
    };
    let ends = [pitch(low)?, pitch(high)?];
    if ends[0] > ends[1] {
        return Err(Failure::usage(format!("the range goes down, from {low} to {high}"), mend));
    }
    let own = Range::new(ends[0], ends[1]);
    if !instrument.reaches(own) {
        return Err(Failure::usage(format!("{low} to {high} is no range of the {}", instrument.name), mend));
    }
    Ok(own)
}

/// A pattern of the library by what was typed, or one begun on another of its notes: `five-note-row-up-and-down-from-2`.
pub fn pattern(library: &Library, typed: &str) -> Result<Pattern, Failure> {
    let unknown = match library.find(typed) {
        Ok(found) => return Ok(found.clone()),
        Err(unknown) => unknown,
    };
    let Some((name, start)) = typed.trim().rsplit_once("-from-") else {
        return Err(Failure::usage(unknown, "earfirst patterns list shows them all."));
    };
    let found = library.find(name).map_err(|_| Failure::usage(unknown, "earfirst patterns list shows them all."))?;
    let start_degree = Degree::parse(&start.replace("sharp", "#"));
    start_degree.and_then(|start| pattern::begun_on(found, start)).ok_or_else(|| {
        let what = format!("{} cannot begin on \"{start}\"", found.name);
        Failure::usage(what, format!("earfirst patterns show {} tells on which notes it can.", found.id))
    })
}

/// What a sitting may ask, and how.
#[derive(Debug, Clone)]
pub struct Meant {
    /// Who plays.
    pub who: Who,
    /// The patterns.
    pub patterns: Vec<Pattern>,
    /// The plan for the coach.
    pub plan: Plan,
    /// What is sounded.
    pub form: Form,
    /// How answers are timed.
    pub timing: Timing,
}

impl Meant {
    /// Works it out. `day` is today.
    pub fn of(typed: &Scope, settings: &Settings, library: &Library, day: i32) -> Result<Self, Failure> {
        let who = Who::of(&typed.player, settings)?;
        let mut patterns: Vec<Pattern> = Vec::new();
        for name in &typed.patterns {
            let found = pattern(library, name)?;
            if patterns.iter().all(|known| known.id != found.id) {
                patterns.push(found);
            }
        }
        if patterns.is_empty() {
            patterns =
                FIRST_PATTERNS.iter().filter_map(|id| library.get(&PatternId((*id).to_owned()))).cloned().collect();
        }
        if patterns.is_empty() {
            patterns.extend(library.patterns().first().cloned());
        }
        let form = match typed.cue {
            None | Some(CueForm::Pattern) => Form::Pattern,
            Some(CueForm::FirstNote) => Form::FirstNote,
            Some(CueForm::Chord) => Form::Chord,
            Some(CueForm::Name) => Form::NameOnly,
        };
        let timing = if form == Form::Pattern { Timing::InTempo } else { Timing::Free };
        let (first_tempo, goals) = tempi(typed, settings)?;
        let keys = who.keys(typed.player.keys.as_deref())?;
        let ids = patterns.iter().map(|pattern| pattern.id.clone()).collect();
        let mut plan = Plan::new(ids, keys, goals, day);
        plan.first_tempo = first_tempo;
        plan.registers = match typed.register {
            Some(third) => vec![third.into()],
            None => vec![Register::Low, Register::Middle, Register::High],
        };
        if let Some(known) = &typed.known {
            // The plan's order says which keys come first; one more joins when the others hold.
            let mut keys = who.keys(Some(known))?;
            if let Some(other) = keys.iter().find(|key| !plan.keys.contains(key)) {
                return Err(Failure::usage(
                    format!("{} is known, but not among the keys that are asked", who.key_name(*other)),
                    "Name it in --keys too, or leave --keys out.",
                ));
            }
            keys.extend(plan.keys.iter().copied().filter(|key| !keys.contains(key)).collect::<Vec<_>>());
            plan.keys = keys;
            plan.one_by_one = true;
        }
        leave_out(&mut plan, &patterns, who.range)?;
        Ok(Self { who, patterns, plan, form, timing })
    }

    /// What does not fit the player's range, a sentence each.
    pub fn unfit(&self) -> Vec<String> {
        let misfits = self.plan.unfit.misfits(self.patterns.iter().map(|pattern| (&pattern.id, pattern.name.as_str())));
        misfits.iter().map(|misfit| words::fit::sentence(misfit, |key| self.who.key_name(key))).collect()
    }
}

/// The tempo of what was never asked before, and the goals. Whoever begins faster than the usual goal is given that tempo for
/// a goal.
fn tempi(typed: &Scope, settings: &Settings) -> Result<(Tempo, Goals), Failure> {
    let (first, goal) = (tempo(typed.tempo)?, tempo(typed.goal)?);
    if let Some(slow) = [first, goal].into_iter().flatten().find(|tempo| tempo.0 < coach::SLOWEST.0) {
        return Err(Failure::usage(
            format!("a drill asks nothing slower than quarter = {:.0}, and {} was given", coach::SLOWEST.0, slow.0),
            "Give a quicker one; in the drill, s asks the same again slower.",
        ));
    }
    if let (Some(Tempo(first)), Some(Tempo(goal))) = (first, goal)
        && first > goal
    {
        return Err(Failure::usage(
            format!("quarter = {first} to begin with is beyond the goal, {goal}"),
            "Begin slower, or raise --goal.",
        ));
    }
    let usual = settings.goals(GOALS);
    let begun = first.filter(|first| first.0 > usual.tempo.0);
    let goals = Goals { tempo: goal.or(begun).unwrap_or(usual.tempo), ..usual };
    Ok((first.unwrap_or(FIRST_TEMPO), goals))
}

/// Leaves out of a plan what does not fit into the range: single patterns in single keys.
fn leave_out(plan: &mut Plan, patterns: &[Pattern], range: Range) -> Result<(), Failure> {
    plan.unfit = Unfit::of(patterns, &plan.keys, range);
    if let Some(nowhere) = patterns.iter().find(|pattern| plan.keys_of(&pattern.id).is_empty()) {
        return Err(Failure::usage(
            format!("{} fits your range in no key that may be asked", nowhere.name),
            "Widen --range, or choose a shorter pattern: earfirst patterns list --longest 5.",
        ));
    }
    let Plan { keys, patterns, unfit, .. } = plan;
    keys.retain(|key| patterns.iter().any(|pattern| !unfit.contains(pattern, *key)));
    Ok(())
}

/// A tempo between 20 and 400.
pub fn tempo(typed: Option<f64>) -> Result<Option<Tempo>, Failure> {
    match typed {
        Some(quarter) if !(20.0..=400.0).contains(&quarter) => Err(Failure::usage(
            format!("quarter = {quarter} is out of reach"),
            "Give 20 to 400 quarter notes a minute.",
        )),
        other => Ok(other.map(Tempo)),
    }
}
