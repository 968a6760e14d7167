//! `analyse`: free playing taken apart; it is told, never graded.

use crate::cli::args::analyse::AnalyseTyped;
use crate::files::{Places, UserSettings};
use crate::talk::failure::Failure;
use crate::talk::free_choruses::{FreeChoruses, names_sittings};
use crate::talk::free_views::{self, FreeAnalysis, Sought};
use crate::talk::habit::{self, KeptHabit};
use crate::talk::notation_files::unheeded;
use crate::talk::output::say;
use crate::talk::player::{Who, tempo};
use crate::units::Seconds;

/// Takes the line of a recording, a MIDI file or a MusicXML file apart, or the free choruses of a sitting.
pub fn run(typed: &AnalyseTyped) -> Result<(), Failure> {
    let settings = UserSettings::load(&Places::usual()?)?;
    if names_sittings(&typed.file) {
        return sitting(typed, &settings);
    }
    let who = Who::of(&typed.player, &settings)?;
    unheeded(&typed.file, typed.player.a4.is_some());
    let (line, first_bar) =
        free_views::line(&typed.file, tempo(typed.tempo)?, typed.player.instrument.is_some(), &who)?;
    let (begins, key) = (typed.begins.map(Seconds).or(first_bar), typed.key.as_deref());
    let form = typed.chart.as_deref().map(|chart| free_views::form(chart, key, begins, &line, &who)).transpose()?;
    let sought = Sought::named(&typed.patterns)?;
    let looked = sought.patterns();
    let analysis = FreeAnalysis::of(line, form, &sought, &looked);
    if typed.json {
        return say(analysis.json());
    }
    if let Some(html) = &typed.html {
        analysis.write_page(html, &typed.file, &who)?;
    }
    if typed.in_words() { analysis.tell(&who) } else { one(typed, &sought, &who, || Ok(analysis)) }
}

/// Takes the free choruses of a sitting apart, on the page of the instrument on which they were played.
fn sitting(typed: &AnalyseTyped, settings: &UserSettings) -> Result<(), Failure> {
    if typed.chart.is_some() || typed.tempo.is_some() {
        return Err(Failure::usage("a sitting knows its chart and its tempo", "Leave --chart and --tempo out."));
    }
    let (choruses, mut player) = (FreeChoruses::open(&typed.file)?, typed.player.clone());
    player.instrument.get_or_insert_with(|| choruses.instrument().to_owned());
    let (who, sought) = (Who::of(&player, settings)?, Sought::named(&typed.patterns)?);
    if typed.json {
        return choruses.say_json(typed.chorus, &sought);
    }
    if let Some(html) = &typed.html {
        choruses.write_page(html, typed.chorus, &sought, &who)?;
    }
    if typed.in_words() {
        return choruses.tell(typed.chorus, &sought, &who);
    }
    let looked = sought.patterns();
    one(typed, &sought, &who, || choruses.analysis(typed.chorus, &sought, &looked, &who))
}

/// Keeps a line of the player's own, or writes the score; where neither is asked for, the page was.
fn one<'l, F>(typed: &AnalyseTyped, sought: &Sought, who: &Who, line: F) -> Result<(), Failure>
where
    F: FnOnce() -> Result<FreeAnalysis<'l>, Failure>,
{
    let Some(number) = typed.learn else {
        return typed.musicxml.as_ref().map_or(Ok(()), |score| line()?.write_score(score, &typed.file, who));
    };
    let (analysis, key) = (line()?, typed.key.as_deref().map(|key| who.key(key)).transpose()?);
    let kept = KeptHabit { number, name: typed.name.as_deref(), key };
    habit::keep(&kept, &analysis.line, &analysis.found, &sought.library, who)
}
