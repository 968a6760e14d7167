use crate::cli::args::{Coach, Practice};
use crate::coach::{self, Goals, Rng};
use crate::exchange::DrivenCoach;
use crate::files;
use crate::music::{self, Reading};
use crate::talk::failure::Failure;
use crate::talk::forecast;
use crate::talk::json_lines;
use crate::talk::sitting::{PlayedBy, Sitting};
use crate::units::{Seconds, Tempo};
use crate::words::Page;

/// The goals of a coach that is driven line by line, because its protocol has no field for them.
const GOALS: Goals = Goals { tempo: Tempo(160.0), reflex: Seconds(0.8) };

/// Tells what would come next today, for each pattern and key, and why.
pub fn run(typed: &Coach) -> Result<(), Failure> {
    if typed.json_lines {
        let piano = music::instrument("piano").map_err(|why| Failure::usage(why, ""))?;
        let mut coach = DrivenCoach::new(GOALS, typed.seed, Page::new(piano.clone(), Reading::default()));
        return json_lines::each(|line| coach.line(line));
    }
    let places = files::Places::usual()?;
    let stored = files::UserSettings::load(&places)?;
    // The sitting is worked out as a drill would begin it.
    let practice = Practice { scope: typed.scope.clone(), seed: Some(typed.seed), ..Practice::default() };
    let planned = Sitting::of(&practice, &stored, &places, PlayedBy::Player)?;
    let Sitting { meant, settings, learner, left_out, .. } = planned;
    let sitting = coach::SittingPlan::new(settings.planned, settings.rests.spared);
    let forecast = learner.forecast(&meant.plan, &sitting, Rng::new(typed.seed), meant.form, meant.timing);
    forecast::tell(&meant, &learner, left_out, &forecast)
}
