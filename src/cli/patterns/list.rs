//! `patterns list`: the library, narrowed to what is wanted, or to what comes back today.

use crate::cli::args::Player;
use crate::cli::args::patterns::{Listed, Motion, RhythmTyped};
use crate::coach::{Goals, OutOfRange, Plan};
use crate::files;
use crate::music::ChordQuality;
use crate::pattern::{Family, Pattern, PatternQuery, Quality, RhythmFeature};
use crate::report::{self, ListedPattern};
use crate::talk::failure::Failure;
use crate::talk::library::{library, pattern};
use crate::talk::output::say;
use crate::talk::pattern_list::{self, ListPart};
use crate::talk::player::Who;
use crate::talk::sitting;

/// Lists the patterns.
pub fn run(typed: &Listed) -> Result<(), Failure> {
    let library = library()?;
    let mut found = library.select(&wanted(typed)?);
    if let Some(like) = &typed.like {
        let like = pattern(&library, like)?;
        found.retain(|other| other.id != like.id);
        found.sort_by_cached_key(|other| -(like.in_common(other) as i64));
    }
    let found: Vec<ListedPattern<'_>> = if typed.today {
        back_today(&found, &typed.player)?
    } else {
        found.into_iter().map(|pattern| (pattern, None)).collect()
    };
    if typed.json {
        return say(report::patterns_json(&library, &found));
    }
    let part = ListPart { page: typed.page.max(1) as usize, all: typed.all, today: typed.today };
    pattern_list::tell(&library, &found, &part)
}

fn wanted(typed: &Listed) -> Result<PatternQuery, Failure> {
    let over = typed.chord.as_deref().map(|name| {
        // The chord is read with or without a root, in any spelling of the trade.
        let read = || ChordQuality::with_or_without_root(name);
        Quality::parse(name).or_else(|| Quality::of(&read().ok()?)).ok_or_else(|| {
            let what = match read() {
                Ok(chord) => format!("no pattern is made for the chord {chord}"),
                Err(_) => format!("no chord quality is written \"{name}\""),
            };
            Failure::usage(what, "Such as maj7, 7, m7, -7, m7b5, Cdim7, 13#11.")
        })
    });
    let inside =
        || Ok::<_, Failure>(Who::of(&typed.player, &files::UserSettings::load(&files::Places::usual()?)?)?.range);
    let words = typed.trains.iter().flat_map(|said| said.split_whitespace()).map(str::to_owned).collect();
    let notes = typed.shortest.unwrap_or(1)..=typed.longest.unwrap_or(usize::MAX);
    Ok(PatternQuery {
        family: typed.family.map(motion),
        level: typed.level.map(|level| level..=level),
        over: over.transpose()?,
        notes: (typed.shortest.is_some() || typed.longest.is_some()).then_some(notes),
        rhythm: typed.rhythm.map(rhythm),
        words,
        inside: typed.fits.then(inside).transpose()?,
    })
}

/// The feature of a rhythm that was typed.
const fn rhythm(typed: RhythmTyped) -> RhythmFeature {
    match typed {
        RhythmTyped::Even => RhythmFeature::Even,
        RhythmTyped::LongAndShort => RhythmFeature::LongAndShort,
        RhythmTyped::Rests => RhythmFeature::Rests,
        RhythmTyped::OffBeats => RhythmFeature::OffBeats,
        RhythmTyped::OverTheBar => RhythmFeature::OverTheBar,
        RhythmTyped::Triplets => RhythmFeature::Triplets,
        RhythmTyped::PickUp => RhythmFeature::PickUp,
        RhythmTyped::ThreeFour => RhythmFeature::ThreeFour,
        RhythmTyped::SixEight => RhythmFeature::SixEight,
    }
}

/// The family that was typed.
pub(super) const fn motion(typed: Motion) -> Family {
    match typed {
        Motion::Stepwise => Family::Stepwise,
        Motion::HalfSteps => Family::HalfSteps,
        Motion::Skips => Family::Skips,
        Motion::Phrase => Family::Phrase,
    }
}

/// The patterns that come back today for this player.
fn back_today<'p>(found: &[&'p Pattern], player: &Player) -> Result<Vec<ListedPattern<'p>>, Failure> {
    let places = files::Places::usual()?;
    let settings = files::UserSettings::load(&places)?;
    let who = Who::of(player, &settings)?;
    let ids = found.iter().map(|pattern| pattern.id.clone()).collect();
    let mut plan = Plan::new(ids, who.keys(player.keys.as_deref())?, settings.goals(Goals::USUAL), files::today().day);
    plan.out_of_range = OutOfRange::of(found.iter().copied(), &plan.keys, who.range);
    let whose = settings.players_called(None).first().map(|player| player.id);
    let learner = sitting::learner(&who.page.instrument.id, whose, &settings, &places);
    Ok(report::back_today(found, &learner, &plan, &who.page))
}
