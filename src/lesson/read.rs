use toml::de::DeTable;

use crate::lesson::fields::{CUES, LessonHead, REGISTERS};
use crate::lesson::{Lesson, LessonTrouble};
use crate::music::{ConcertKey, nearest};
use crate::pattern::{self, Library, Pattern};

/// The newest version this program writes, and reads together with all older ones.
pub(super) const VERSION: u32 = 1;
/// Most bytes of a lesson; a longer file is refused.
const MOST_BYTES: usize = 1 << 20;
/// How each pattern inside begins.
const PATTERN: &str = "[[pattern]]";

/// Reads a lesson.
///
/// # Errors
/// All that is wrong with the lesson, in the order of the lines. Where its fields before the first pattern are no TOML, only what
/// is wrong with their TOML and names; where a newer program wrote it, only that it did; where it is too long, only that.
pub fn read(text: &str) -> Result<Lesson, Vec<LessonTrouble>> {
    if text.len() > MOST_BYTES {
        let what = format!("it is longer than {} MiB, so it is no lesson", MOST_BYTES >> 20);
        return Err(vec![LessonTrouble::at(text, 0, what)]);
    }
    let (head, inside) = parted(text);
    let (document, errors) = DeTable::parse_recoverable(head);
    let mut fields = LessonHead::new(head, document.get_ref());
    newer(&mut fields)?;
    if !errors.is_empty() {
        for error in errors {
            let at = error.span().map_or(0, |span| span.start);
            fields.trouble(at, format!("this is no TOML: {}", error.message().trim()));
        }
        return Err(fields.troubles);
    }
    let own = own(head, inside, &mut fields);
    let lesson = of_fields(&mut fields, own);
    let mut troubles = fields.troubles;
    troubles.sort_by_cached_key(|trouble| (trouble.line, trouble.column));
    match lesson {
        Some(lesson) if troubles.is_empty() => Ok(lesson),
        _ => Err(troubles),
    }
}

/// The lesson's own fields, and the patterns after them.
fn parted(text: &str) -> (&str, &str) {
    let mut at = 0;
    for line in text.split_inclusive('\n') {
        if line.trim_start().starts_with(PATTERN) {
            break;
        }
        at += line.len();
    }
    text.split_at(at)
}

/// Refuses a lesson of a newer version, which may ask for what this program cannot do.
fn newer(fields: &mut LessonHead<'_>) -> Result<(), Vec<LessonTrouble>> {
    if !fields.has("lesson") {
        fields.trouble(0, format!("the first field is lesson = {VERSION}: the version of what follows"));
        return Ok(());
    }
    let Some(version) = fields.number("lesson", 1..=u32::MAX).filter(|version| *version > VERSION) else {
        return Ok(());
    };
    fields.troubles.clear();
    fields.trouble_in(
        "lesson",
        format!("a lesson of version {version}; this earfirst reads up to {VERSION}: a newer one is needed"),
    );
    fields.troubles.iter_mut().for_each(|trouble| trouble.newer = true);
    Err(std::mem::take(&mut fields.troubles))
}

/// The patterns that travel inside. They are read with the lines of the head left empty, so that their troubles point at the right
/// lines.
fn own(head: &str, inside: &str, fields: &mut LessonHead<'_>) -> Vec<Pattern> {
    if inside.is_empty() {
        return Vec::new();
    }
    let lines = head.matches('\n').count();
    let (patterns, troubles) = pattern::read(&("\n".repeat(lines) + inside), "");
    for trouble in troubles {
        let message = trouble.to_string();
        // The message begins with the place, which a `LessonTrouble` has in fields of its own.
        let what = message.splitn(4, ':').nth(3).unwrap_or(&message).trim().to_owned();
        fields.troubles.push(LessonTrouble { line: trouble.line, column: trouble.column, what, newer: false });
    }
    patterns
}

fn of_fields(fields: &mut LessonHead<'_>, own: Vec<Pattern>) -> Option<Lesson> {
    for missing in ["patterns", "days"].into_iter().filter(|field| !fields.has(field)).collect::<Vec<_>>() {
        fields.trouble(0, format!("the field {missing} is missing"));
    }
    let name = fields.line("name").unwrap_or_else(|| "a lesson".to_owned());
    let patterns = patterns(fields, &own);
    let keys = keys(fields);
    let (tempo, goal) = (fields.number("tempo", 40..=400), fields.number("goal", 40..=400));
    if let (Some(tempo), Some(goal)) = (tempo, goal)
        && tempo > goal
    {
        fields.trouble_in("tempo", format!("the first tempo, {tempo}, is beyond the goal, {goal}"));
    }
    Some(Lesson {
        name,
        patterns,
        keys,
        concert: fields.flag("concert"),
        cue: fields.choice("cue", &CUES).unwrap_or(CUES[0].1),
        tempo,
        goal,
        register: fields.choice("register", &REGISTERS),
        minutes: fields.number("minutes", 1..=600),
        days: fields.number("days", 1..=366)?,
        by: by(fields),
        charts: fields.lines("charts").into_iter().map(|(chart, _)| chart).collect(),
        seed: fields.number("seed", 0..=u32::MAX).unwrap_or(1),
        trial: fields.flag("trial"),
        own,
    })
}

/// The patterns that are set: each is one that every earfirst has, or one that travels inside.
fn patterns(fields: &mut LessonHead<'_>, own: &[Pattern]) -> Vec<String> {
    let library = Library::builtin();
    let ids = || library.patterns().iter().chain(own).map(|pattern| pattern.id.0.as_str());
    let mut patterns = Vec::new();
    for (name, at) in fields.lines("patterns") {
        if !ids().any(|id| id == name) {
            let close = nearest(&name, ids()).map_or_else(String::new, |close| format!("; near it: {close}"));
            let what = format!("no pattern of earfirst is called {name}, and none of that name travels inside{close}");
            fields.trouble(at, what);
        }
        patterns.push(name);
    }
    patterns
}

/// The program's own name of a key, which may be written in any case; Gb is F#.
fn key_name(name: &str) -> Option<&'static str> {
    let mut names = ConcertKey::FIFTHS.iter().map(|key| key.name());
    if name.eq_ignore_ascii_case("Gb") { Some("F#") } else { names.find(|known| known.eq_ignore_ascii_case(name)) }
}

fn keys(fields: &mut LessonHead<'_>) -> Vec<String> {
    let mut keys = Vec::new();
    for (name, at) in fields.lines("keys") {
        match key_name(&name).map(str::to_owned) {
            Some(key) if keys.contains(&key) => fields.trouble(at, format!("the key {name} stands here twice")),
            Some(key) => keys.push(key),
            None => fields.trouble(at, format!("no key is called {name}; keys are C G D A E B F# Db Ab Eb Bb F")),
        }
    }
    keys
}

/// Reads the last day, a date (full-date of RFC 3339).
fn by(fields: &mut LessonHead<'_>) -> Option<String> {
    let said = fields.line("by")?;
    let number = |from: usize, to: usize| said.get(from..to).and_then(|digits| digits.parse::<u32>().ok());
    let shape = said.len() == 10
        && said.bytes().zip("dddd-dd-dd".bytes()).all(|(sign, shape)| match shape {
            b'd' => sign.is_ascii_digit(),
            _ => sign == shape,
        });
    let days = |year: u32, month: u32| match month {
        2 if year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400)) => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    };
    let there = match (number(0, 4), number(5, 7), number(8, 10)) {
        (Some(year), Some(month), Some(day)) => (1..=12).contains(&month) && day >= 1 && day <= days(year, month),
        _ => false,
    };
    if !(shape && there) {
        fields.trouble_in("by", "by is a day of the calendar such as \"2026-12-07\"");
    }
    Some(said)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lesson::print;

    const SMALL: &str = "lesson = 1\npatterns = [\"major-triad-up\"]\ndays = 3\n";

    fn first(text: &str) -> String {
        read(text).unwrap_err()[0].to_string()
    }

    #[test]
    fn what_was_printed_reads_as_the_same_lesson_and_prints_the_same() {
        let full = "# by hand\ntrial = true\nseed = 9\nlesson = 1\ncharts = [\"blues\"]\nname = \"A \\\"small\\\" one\"\n\
            patterns = [\"a-row\", \"major-triad-up\"]\nkeys = [\"c\", \"Gb\"]\nconcert = true\ncue = \"first-note\"\n\
            tempo = 60\ngoal = 90\nregister = \"low\"\nminutes = 15\ndays = 4\nby = \"2028-02-29\"\n\n[[pattern]]\n\
            id = \"a-row\"\nname = \"a row\"\nfamily = \"stepwise\"\nlevel = 1\ntempo = [60, 120]\nnotes = \"1 2 3 2 1\"\n";
        for text in [SMALL, full] {
            let lesson = read(text).unwrap();
            let canonical = print(&lesson);
            assert_eq!(read(&canonical).as_ref(), Ok(&lesson), "{canonical}");
            assert_eq!(print(&read(&canonical).unwrap()), canonical);
        }
        let lesson = read(full).unwrap();
        assert_eq!((lesson.own.len(), lesson.keys.len(), lesson.by.as_deref()), (1, 2, Some("2028-02-29")));
        assert_ne!(print(&lesson), print(&Lesson { goal: Some(91), ..lesson.clone() }));
    }

    #[test]
    fn an_error_points_at_its_line() {
        let with = |line: &str| format!("{SMALL}{line}\n");
        assert!(first(&with("keys = [\"C\", \"X\"]")).starts_with("4:14: no key is called X"));
        assert!(first(&with("tempoo = 72")).starts_with("4:1: no field of a lesson is called tempoo; write tempo"));
        assert!(first(&with("by = \"2026-02-30\"")).starts_with("4:6: by is a day"));
        assert!(first(&with("minutes = 0")).starts_with("4:11: minutes is a whole number from 1 to 600"));
        assert!(first(&with("tempo = 100\ngoal = 90")).starts_with("4:9: the first tempo, 100, is beyond the goal"));
        let typo = first(&SMALL.replace("triad-up", "triad-upp"));
        assert!(typo.starts_with("2:13: no pattern of earfirst is called major-triad-upp"), "{typo}");
        assert!(typo.ends_with("; near it: major-triad-up"), "{typo}");
        assert!(first(&with("trial = 7")).starts_with("4:9: trial is true or false"));
        assert!(first("patterns = [\"a\"]\ndays = 1\n").starts_with("1:1: the first field is lesson = 1"));
        assert!(first("lesson = 1\nwhat").contains("no TOML"));
    }

    #[test]
    fn a_pattern_inside_has_its_troubles_on_its_own_lines() {
        let text =
            format!("{SMALL}\n[[pattern]]\nid = \"a-row\"\nname = \"a row\"\nfamily = \"stepwise\"\nlevel = 9\n");
        let troubles = read(&text).unwrap_err();
        let level = troubles.iter().find(|trouble| trouble.what.contains("level")).unwrap();
        assert_eq!(level.line, 9, "{troubles:?}");
    }

    #[test]
    fn a_lesson_of_a_newer_version_says_so_and_nothing_else() {
        let newer = "lesson = 2\npatterns = [\"a\"]\nwith-a-dance = true\n";
        let troubles = read(newer).unwrap_err();
        assert_eq!(troubles.len(), 1);
        assert!(troubles[0].to_string().contains("version 2; this earfirst reads up to 1: a newer one is needed"));
    }
}
