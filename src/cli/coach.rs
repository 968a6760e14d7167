use crate::cli::args::{Coach, Practice};
use crate::cli::coach_lines::Driven;
use crate::cli::failure::Failure;
use crate::cli::meant::Meant;
use crate::cli::{lines, say, sitting};
use crate::coach::{Dice, Goals};
use crate::files;
use crate::units::{Seconds, Tempo};
use crate::words;

/// The goals of a coach that is driven line by line: its protocol has no word for them.
const GOALS: Goals = Goals { tempo: Tempo(160.0), reflex: Seconds(0.8) };

/// What would come next today, per pattern and key, and why.
pub fn run(typed: &Coach) -> Result<(), Failure> {
    if typed.json_lines {
        let mut coach = Driven::new(GOALS, typed.seed);
        return lines::each(|line| coach.line(line));
    }
    let places = files::Places::usual()?;
    let settings = files::Settings::load(&places)?;
    let library = super::patterns::library()?;
    let practice = Practice { patterns: typed.patterns.clone(), player: typed.player.clone(), ..Practice::default() };
    let meant = Meant::of(&practice, &settings, &library, files::today().day)?;
    let mut beliefs = sitting::beliefs(&meant.who.instrument.id, &places);
    let mut dice = Dice::new(typed.seed);
    say(format!("{}, goal quarter = {:.0}", meant.who.instrument.name, meant.plan.goals.tempo.0))?;
    for pattern in &meant.patterns {
        say(format!("\n{}", pattern.name))?;
        for &key in &meant.plan.keys {
            let known = beliefs.row(&pattern.id, key);
            let tempo = known.tempo().map_or("not asked yet".to_owned(), |tempo| format!("quarter = {:.0}", tempo.0));
            let reflex = known.reflex(meant.form).map_or(String::new(), |reflex| format!(", reflex {:.1} s", reflex.0));
            let holds = if beliefs.holds(&pattern.id, key, &meant.plan.goals) { ", holds" } else { "" };
            say(format!("  {:3} {tempo}{reflex}{holds}", meant.who.key_name(key)))?;
        }
    }
    say("\nnext, if every answer stays as it is:")?;
    for _ in 0..meant.plan.keys.len().min(12) {
        let Some(choice) = beliefs.choose(&meant.plan, &mut dice) else { break };
        let name =
            meant.patterns.iter().find(|pattern| pattern.id == choice.pattern).map_or("", |pattern| &pattern.name);
        let why = words::reason::short(
            &choice.reason,
            meant.who.page_key(choice.key),
            meant.who.g_flat,
            Some(meant.plan.day),
        );
        say(format!("  {name}: {why} · quarter = {:.0}", choice.tempo.0))?;
    }
    Ok(())
}
