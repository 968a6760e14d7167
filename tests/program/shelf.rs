//! The whole library, checked by theory that is written here anew: chord tones, scales over chords, strong beats, families, and chords on
//! beats.

mod tables;

use earfirst::outside::music::{ChordQuality, fits};
use earfirst::outside::pattern::{Family, Library, Pattern, PatternId, Quality, Ticks};

/// One note and the chord under it. Distances are in half steps, times in ticks from the first bar line.
#[derive(Debug, Clone)]
struct Sung {
    height: i32,
    at: i64,
    root: i32,
    chord: String,
}

impl Sung {
    fn above_root(&self) -> i32 {
        (self.height - self.root).rem_euclid(12)
    }
    fn is_tone(&self) -> bool {
        tables::chord(&self.chord).1.contains(&self.above_root())
    }
    fn is_in_a_scale(&self) -> bool {
        tables::scales(&self.chord).iter().any(|scale| scale.contains(&self.above_root()))
    }
}

/// The chords of a pattern: where each begins, in ticks from the first bar line, its root and its name.
fn chords(pattern: &Pattern) -> Vec<(i64, i32, String)> {
    let pickup = Ticks::nearest(pattern.pickup()).0;
    let chords = pattern.chords().into_iter().map(|section| {
        let (root, name) = tables::root(&section.root.to_string());
        (section.at.0 - pickup, root, name)
    });
    chords.collect()
}

/// The notes of a pattern, each with its chord. That is the chord that begins while the note sounds, at most an eighth after its onset;
/// where none does, the chord under its onset.
fn sung(pattern: &Pattern, chords: &[(i64, i32, String)]) -> Vec<Sung> {
    let pickup = Ticks::nearest(pattern.pickup()).0;
    let under = |from: i64, to: i64| {
        let begun = chords.iter().rev().find(|chord| chord.0 <= from);
        let held = chords.iter().find(|chord| from < chord.0 && chord.0 < to && chord.0 - from <= Ticks::QUARTER / 2);
        held.or(begun).unwrap_or(&chords[0]).clone()
    };
    let notes = pattern.notes().iter().map(|step| {
        let at = step.at.0 - pickup;
        let (_, root, chord) = under(at, at + step.length.0);
        Sung { height: step.degree.half_steps, at, root, chord }
    });
    notes.collect()
}

fn moves(pattern: &Pattern) -> Vec<i32> {
    pattern.notes().windows(2).map(|pair| pair[1].degree.half_steps - pair[0].degree.half_steps).collect()
}

/// Whether a note leads to a tone of a chord: by step; round that tone; by half steps in a voice made of every other note; or in a run of
/// half steps. A note also passes that is reached by step and left by a half step.
fn leads(line: &[Sung], n: usize) -> bool {
    let by = |m: usize| line[m + 1].height - line[m].height;
    let there = |m: usize| m < line.len() && line[m].is_tone();
    if there(n + 1) && by(n).abs() <= 2 {
        return true;
    }
    // Round a target: nothing on the way to it is further from it than a minor third.
    let round = |m: usize| line[n..m].iter().all(|note| (note.height - line[m].height).abs() <= 3);
    if (n + 2..=n + 4).any(|m| there(m) && round(m)) {
        return true;
    }
    // In a voice of its own, every other note, by half steps.
    let voice = |m: usize| m + 2 < line.len() && (line[m + 2].height - line[m].height).abs() == 1;
    if voice(n) && (there(n + 2) || (voice(n + 2) && there(n + 4))) {
        return true;
    }
    // A run of half steps that reaches a chord tone; or a note between a step and a half step.
    let on = (n..line.len() - 1).take(4).take_while(|m| by(*m).abs() == 1).any(|m| there(m + 1));
    let from = n > 0 && n + 1 < line.len() && by(n).abs() == 1 && by(n - 1).abs() <= 2;
    on || from
}

/// Looks for faults in every pattern. Hands back how many notes were looked at, and every fault with its pattern.
fn read(find: impl Fn(&Pattern) -> (usize, Vec<String>)) -> (usize, Vec<String>) {
    let (mut seen, mut wrong) = (0, Vec::new());
    for pattern in Library::builtin().patterns() {
        let (notes, faults) = find(pattern);
        seen += notes;
        wrong.extend(faults.into_iter().map(|fault| format!("{}: {fault}", pattern.id)));
    }
    (seen, wrong)
}

fn none_wrong((seen, wrong): (usize, Vec<String>), least: usize) {
    assert!(wrong.is_empty(), "{} wrong of {seen}:\n{}", wrong.len(), wrong.join("\n"));
    assert!(seen >= least, "only {seen} were looked at");
}

#[test]
fn every_mark_of_a_chord_tone_is_the_handbooks() {
    let all = read(|pattern| {
        let chords = chords(pattern);
        if chords.is_empty() {
            return (0, Vec::new());
        }
        let line = sung(pattern, &chords);
        let wrong = |note: &&Sung| {
            let own: Vec<i32> =
                Quality::parse(&note.chord).unwrap().tones().iter().map(|t| t.half_steps % 12).collect();
            own.contains(&note.above_root()) != note.is_tone()
        };
        let told = line.iter().filter(wrong).map(|note| format!("{note:?}")).collect();
        (line.len(), told)
    });
    none_wrong(all, 3510);
}

#[test]
fn every_chord_that_a_pattern_is_over_bears_its_notes() {
    let all = read(|pattern| {
        if !pattern.chords().iter().all(|section| section.root.degree.half_steps == 0) {
            return (0, Vec::new());
        }
        let mut wrong = Vec::new();
        for quality in &pattern.over {
            let line = sung(pattern, &[(i64::MIN, 0, quality.name().to_owned())]);
            let inside = |scale: &Vec<i32>| line.iter().all(|note| scale.contains(&note.above_root()));
            if tables::scales(quality.name()).iter().any(inside) {
                continue;
            }
            let plain = pattern.family != Family::HalfSteps;
            if plain || !line.last().is_some_and(Sung::is_tone) {
                wrong.push(format!("no scale over {} holds it, and it does not land there", quality.name()));
            }
            let lost = (0..line.len()).filter(|n| !line[*n].is_tone() && !leads(&line, *n));
            wrong.extend(lost.map(|n| format!("note {} leads to no tone of {}", n + 1, quality.name())));
        }
        (pattern.over.len(), wrong)
    });
    none_wrong(all, 800);
}

/// The notes of a chord's scale that do not sound well on a strong beat ("avoid notes"), in half steps above the root.
fn avoided(chord: &str) -> &'static [i32] {
    match chord {
        "maj" | "maj7" | "6" | "7" | "9" | "7b9" => &[5],
        "m7" => &[8],
        _ => &[],
    }
}

#[test]
fn over_changes_every_strong_beat_bears_its_note_and_every_other_note_leads_on() {
    let all = read(|pattern| {
        let chords = chords(pattern);
        if pattern.family != Family::Phrase {
            return (0, Vec::new());
        }
        let line = sung(pattern, &chords);
        let (bar, beat) = (Ticks::nearest(pattern.meter().bar()).0, Ticks::nearest(pattern.meter().beat()).0);
        let strong = |at: i64| match pattern.meter().count() {
            3 => at.rem_euclid(bar) == 0,
            _ => at.rem_euclid(beat * pattern.meter().count().div_ceil(2) as i64) == 0,
        };
        let home = chords.last().filter(|last| last.1 == 0);
        let minor = home.is_some_and(|home| home.2.starts_with('m') && !home.2.starts_with("maj"));
        let mut wrong = Vec::new();
        for (n, note) in line.iter().enumerate() {
            let led = n + 1 < line.len() && leads(&line, n);
            let up = note.above_root();
            let mut tell = |what: &str| wrong.push(format!("note {} over {}: {what}", n + 1, note.chord));
            if !note.is_tone() && !note.is_in_a_scale() && !led {
                tell("in no scale of it, and leads nowhere");
            }
            if strong(note.at)
                && !note.is_tone()
                && !led
                && (![2, 9].contains(&up) || avoided(&note.chord).contains(&up))
            {
                tell("no chord tone on a strong beat");
            }
            if note.chord.starts_with('7') && up == 11 && !led_by_half(&line, n) {
                tell("a major seventh that does not pass");
            }
            if minor && note.height.rem_euclid(12) == 4 {
                tell("the major third of a minor key");
            }
        }
        let end = line.last().unwrap();
        let rests = end.is_tone() || end.above_root() == 2 || (end.chord.starts_with("maj") && end.above_root() == 9);
        if !rests {
            wrong.push(format!("it ends on {} half steps over {}", end.above_root(), end.chord));
        }
        (line.len(), wrong)
    });
    none_wrong(all, 1000);
}

fn led_by_half(line: &[Sung], n: usize) -> bool {
    line.get(n + 1).is_some_and(|next| (next.height - line[n].height).abs() == 1)
}

#[test]
fn every_chord_begins_on_a_beat_so_that_it_can_lie_on_a_chart() {
    let all = read(|pattern| {
        let beat = Ticks::nearest(pattern.meter().beat()).0;
        let chords = chords(pattern);
        let off = chords.iter().filter(|chord| chords.len() > 1 && chord.0.rem_euclid(beat) != 0);
        (chords.len(), off.map(|chord| format!("{} begins between two beats", chord.2)).collect())
    });
    none_wrong(all, 900);
}

#[test]
fn every_bar_line_that_is_drawn_stands_where_the_meter_has_one() {
    use earfirst::outside::pattern::Token;
    let all = read(|pattern| {
        let (unit, bar) = (pattern.notation.unit.ticks().0, Ticks::nearest(pattern.meter().bar()).0);
        let (mut at, mut lines, mut wrong) = (-Ticks::nearest(pattern.pickup()).0, 0, Vec::new());
        for token in &pattern.notation.tokens {
            match token {
                Token::Bar => {
                    lines += 1;
                    if at.rem_euclid(bar) != 0 {
                        wrong.push(format!("bar line {lines} stands inside a bar"));
                    }
                }
                Token::Root(_) => {}
                _ => at += unit,
            }
        }
        (lines, wrong)
    });
    none_wrong(all, 250);
}

/// Whether enough moves of a pattern are those of its family.
fn in_its_family(pattern: &Pattern) -> bool {
    let all = moves(pattern);
    let moved = all.iter().filter(|by| **by != 0).count();
    let count = |fits: &dyn Fn(i32) -> bool| all.iter().filter(|by| fits(by.abs())).count();
    // A five-note scale steps by minor thirds, a blues scale too.
    let step = if pattern.notation.scale.as_ref().is_some_and(|scale| scale.len() < 7) { 3 } else { 2 };
    let tones = || {
        let chords = chords(pattern);
        !chords.is_empty() && sung(pattern, &chords).iter().all(Sung::is_tone)
    };
    // Two voices by turns, each by half steps or still; an enclosure lands from both sides.
    let heights: Vec<i32> = pattern.notes().iter().map(|step| step.degree.half_steps).collect();
    let voice = |first: usize| {
        let own: Vec<i32> = heights.iter().skip(first).step_by(2).copied().collect();
        own.windows(2).all(|pair| (pair[1] - pair[0]).abs() <= 1 || pair[0] - pair[1] == 2)
    };
    let enclosed = || {
        let target = heights[heights.len() - 1];
        let sides = heights.iter().rev().skip(1).take(2).map(|height| (height - target).clamp(-3, 3));
        sides.clone().count() == 2 && sides.clone().sum::<i32>().abs() <= 1 && sides.clone().all(|side| side.abs() <= 2)
    };
    match pattern.family {
        Family::Stepwise => 2 * count(&|by| (1..=step).contains(&by)) >= moved,
        Family::Skips => 2 * count(&|by| by >= 3) >= moved || tones(),
        Family::HalfSteps => 10 * count(&|by| by == 1) >= 3 * moved || (voice(0) && voice(1)) || enclosed(),
        Family::Phrase => true,
    }
}

#[test]
fn every_pattern_moves_as_its_family_does() {
    let all = read(|pattern| {
        let wrong = (!in_its_family(pattern)).then(|| format!("{:?} {}", moves(pattern), pattern.family.name()));
        (1, wrong.into_iter().collect())
    });
    none_wrong(all, 750);
}

#[test]
fn what_is_called_half_steps_from_one_note_to_another_goes_there_by_half_steps() {
    let all = read(|pattern| {
        let words: Vec<&str> = pattern.name.split(' ').collect();
        let named = matches!(words[..], ["half", "steps", "from", _, "to", _] | ["chromatic", _, "to", _]);
        let whole = named && moves(pattern).iter().any(|by| by.abs() != 1);
        (usize::from(named), whole.then(|| format!("{:?}", moves(pattern))).into_iter().collect())
    });
    none_wrong(all, 4);
}

#[test]
fn a_chord_takes_no_scale_that_contradicts_it() {
    // A scale of six notes or more holds every tone that tells the chord from others: third or fourth, seventh, altered tensions. A scale
    // of five may leave tones out, but brings no major third against a suspended fourth. A blues scale bends the third by intent.
    let (mut seen, mut wrong) = (0, Vec::new());
    for (name, tones, _) in tables::CHORDS {
        let symbol = if name == "maj" { "" } else { name };
        for fit in fits(&ChordQuality::parse(symbol).unwrap()) {
            for scale in &fit.scales {
                seen += 1;
                let own: Vec<i32> = scale.half_steps().iter().map(|step| step.0).collect();
                let telling = tones.iter().filter(|tone| ![0, 7].contains(*tone));
                let missing: Vec<&i32> = telling.filter(|tone| !own.contains(tone)).collect();
                let against = name.contains("sus4") && own.contains(&4) && !own.contains(&5);
                let whole = own.len() >= 6 && !scale.id.contains("blues");
                if against || (whole && !missing.is_empty()) {
                    wrong.push(format!("{name} takes {}: {missing:?} missing", scale.name));
                }
            }
        }
    }
    none_wrong((seen, wrong), 70);
}

fn named(id: &str) -> &'static Pattern {
    Library::builtin().get(&PatternId(id.to_owned())).unwrap_or_else(|| panic!("{id}"))
}

#[test]
fn what_a_name_promises_is_what_is_played() {
    // Third up, then a drop: the first move is the third.
    for quality in ["maj7", "m7b5", "7sus4"] {
        let moved = moves(named(&format!("third-up-then-drop-{quality}")));
        assert!((3..=5).contains(&moved[0]) && moved[1] < -5, "{moved:?}");
    }
    // Bars 7 and 8 of a blues are a bar of I7 and a bar of VI7 (common practice).
    let chords = chords(named("blues-bars-7-8-vi7-approach"));
    let bars: Vec<(i64, i32)> = chords.iter().map(|chord| (chord.0 / (4 * Ticks::QUARTER), chord.1)).collect();
    assert_eq!(bars, [(0, 0), (1, 9), (2, 2)]);
    // Over a suspended dominant stand the triads on IV and bVII: F A C and Bb D F in C.
    let heights = named("triads-on-iv-and-bvii").notes().iter().map(|step| step.degree.half_steps);
    assert_eq!(heights.collect::<Vec<_>>(), [5, 9, 12, 10, 14, 17]);
}

#[test]
fn a_pattern_that_has_a_new_name_is_found_by_the_old_one() {
    assert_eq!(named("triads-on-iv-and-v").id.0, "triads-on-iv-and-bvii");
    let library = Library::builtin();
    for (old, new) in [
        ("surround-the-third", "enclosure of the third"),
        ("first-four-notes-of-minor", "minor tetrachord"),
        ("rhythm-tune-bridge", "rhythm changes, bridge"),
        ("fifth-mode-of-harmonic-minor-down", "phrygian dominant down"),
        ("dominant-descent-with-passing-7", "bebop-dominant-down"),
    ] {
        assert_eq!(library.find(new).unwrap().id.0, old);
        assert_eq!(library.find(&new.replace(", ", "-").replace(' ', "-")).unwrap().id.0, old);
    }
    for pattern in library.patterns() {
        assert_eq!(library.find(&library.typed(pattern)).unwrap().id, pattern.id);
    }
}
