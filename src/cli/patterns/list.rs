//! `patterns list`: the library, narrowed to what is wanted, or to what comes back today.

use crate::cli::args::Player;
use crate::cli::args::patterns::{Listed, Motion, RhythmTyped};
use crate::cli::practice::sitting;
use crate::cli::resolve::GOALS;
use crate::coach::{OutOfRange, Plan};
use crate::files;
use crate::music::ChordQuality;
use crate::pattern::{Family, Library, Pattern, PatternQuery, Quality, RhythmFeature};
use crate::report::{self, ListedPattern};
use crate::talk::failure::Failure;
use crate::talk::library::{library, pattern};
use crate::talk::output::say;
use crate::talk::player::Who;
use crate::words::numbers::{counted, numbered};
use crate::words::pattern_rows;
use crate::words::patterns::rhythm_word;
use crate::words::reason::since;

/// Patterns on a page: with the line below them they fit a screen of 24 lines.
const PAGE: usize = 20;
/// Lists the patterns.
pub fn run(typed: &Listed) -> Result<(), Failure> {
    let library = library()?;
    let mut found = library.select(&wanted(typed)?);
    if let Some(like) = &typed.like {
        let like = pattern(&library, like)?;
        found.retain(|other| other.id != like.id);
        found.sort_by_key(|other| std::cmp::Reverse(like.in_common(other)));
    }
    let found: Vec<ListedPattern<'_>> = if typed.today {
        back_today(&found, &typed.player)?
    } else {
        found.into_iter().map(|pattern| (pattern, None)).collect()
    };
    if typed.json { say(report::patterns_json(&library, &found)) } else { page(&library, &found, typed) }
}

/// The rows of one page, or of all, and how many there are.
fn page(library: &Library, found: &[ListedPattern<'_>], typed: &Listed) -> Result<(), Failure> {
    let pages = found.len().div_ceil(PAGE).max(1);
    let wanted = typed.page.max(1) as usize;
    if wanted > pages {
        let what = format!("there is no page {wanted}: the list has {}", counted(pages, "page"));
        return Err(Failure::usage(what, "Without --page it begins at the first."));
    }
    let whole = typed.all || pages == 1;
    let (skipped, taken) = if whole { (0, found.len()) } else { ((wanted - 1) * PAGE, PAGE) };
    for (pattern, back) in found.iter().skip(skipped).take(taken) {
        let words = back.clone().unwrap_or_else(|| rhythm_word(pattern).to_owned());
        say(pattern_rows::list_row(&library.typed(pattern), pattern, &words))?;
    }
    say(match found.len() {
        0 if typed.today => "nothing comes back today".to_owned(),
        count if whole => numbered(count, "pattern"),
        count => {
            let more = if wanted < pages {
                format!("; --page {} goes on, --all lists them", wanted + 1)
            } else {
                String::new()
            };
            format!("page {wanted} of {pages}, {} in all{more}", numbered(count, "pattern"))
        }
    })
}

fn wanted(typed: &Listed) -> Result<PatternQuery, Failure> {
    let over = typed.chord.as_deref().map(|name| {
        // With or without a root, in any spelling of the trade.
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

/// Something in a rhythm, as typed.
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

/// A family as typed.
pub(super) const fn motion(typed: Motion) -> Family {
    match typed {
        Motion::Stepwise => Family::Stepwise,
        Motion::HalfSteps => Family::HalfSteps,
        Motion::Skips => Family::Skips,
        Motion::Phrase => Family::Phrase,
    }
}

/// The patterns that come back today for this player, the most forgotten first, with the key that was away the longest.
fn back_today<'p>(found: &[&'p Pattern], player: &Player) -> Result<Vec<ListedPattern<'p>>, Failure> {
    let places = files::Places::usual()?;
    let settings = files::UserSettings::load(&places)?;
    let who = Who::of(player, &settings)?;
    let ids = found.iter().map(|pattern| pattern.id.clone()).collect();
    let mut plan = Plan::new(ids, who.keys(player.keys.as_deref())?, settings.goals(GOALS), files::today().day);
    plan.out_of_range = OutOfRange::of(found.iter().copied(), &plan.keys, who.range);
    let whose = settings.players_called(None).first().map(|player| player.id);
    let back = sitting::learner(&who.page.instrument.id, whose, &settings, &places).back(&plan);
    let mut listed: Vec<ListedPattern<'_>> = Vec::new();
    for first in &back {
        let Some(pattern) = found.iter().find(|pattern| pattern.id == first.pattern) else { continue };
        if listed.iter().any(|(known, _)| known.id == pattern.id) {
            continue;
        }
        let keys = back.iter().filter(|other| other.pattern == first.pattern);
        let more = keys.clone().count() - 1;
        let longest = keys.max_by_key(|other| other.days).unwrap_or(first);
        let others = if more == 0 { String::new() } else { format!("; {} in all", counted(more + 1, "key")) };
        let away = since(longest.days, Some(plan.day));
        listed.push((pattern, Some(format!("{}, {away}{others}", who.page.key(longest.key, pattern.mode())))));
    }
    Ok(listed)
}
