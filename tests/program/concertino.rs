//! The clarinet of a concertino, in the public domain, taken apart: what an independent script marks in it is heard in the same families,
//! and every place of a habit has the notes of that habit. Source and licence are named in `tests/data/free/concertino.tsv`.

use earfirst::outside::coach::Rng;
use earfirst::outside::free::{FreeLine, FreeParts, FreeVocabulary, LookedFor};
use earfirst::outside::music::Concert;
use earfirst::outside::pattern::{ExpectedNote, Family, Library, Line, Pattern};
use earfirst::outside::units::{Beats, Tempo};

/// The line, and for each of its notes the mark of the move to the next.
fn concertino() -> (FreeLine, Vec<String>) {
    let (mut notes, mut marks, mut end) = (Vec::new(), Vec::new(), 0.0);
    let rows = include_str!("../data/free/concertino.tsv").lines().filter(|line| !line.starts_with('#'));
    for row in rows {
        let fields: Vec<&str> = row.split('\t').collect();
        let number = |n: usize| fields[n].parse::<f64>().unwrap();
        let (at, length) = (number(0), number(1));
        end = at + length;
        let pitch = Concert(number(2) as i32);
        notes.push(ExpectedNote { pitch, at: Beats(at), length: Beats(length), named: None });
        marks.push(fields[3].to_owned());
    }
    (FreeLine::written(&Line { length: Beats(end), notes }, Tempo(96.0)).unwrap(), marks)
}

#[test]
fn scales_half_steps_and_arpeggios_of_a_concertino_are_told_as_a_script_marks_them() {
    let (line, marks) = concertino();
    let mut families = vec![None; marks.len()];
    for part in FreeParts::of(&line).parts {
        families[part.notes.start..part.notes.end - 1].fill(Some(part.family));
    }
    let (mut same, mut all) = ([0; 3], [0; 3]);
    for (mark, family) in marks.iter().zip(families) {
        for (n, (sign, wanted)) in
            [("S", Family::Stepwise), ("H", Family::HalfSteps), ("K", Family::Skips)].into_iter().enumerate()
        {
            all[n] += usize::from(mark == sign);
            same[n] += usize::from(mark == sign && family == Some(wanted));
        }
    }
    println!("of {all:?} moves {same:?} stand in the family that the script says");
    assert_eq!(all, [207, 66, 161]);
    assert!(same.iter().zip(all).all(|(same, all)| 20 * same >= 19 * all), "{same:?} of {all:?}");
}

#[test]
fn what_comes_again_in_a_concertino_has_the_same_moves_each_time() {
    let (line, _) = concertino();
    let library = Library::builtin();
    let patterns: Vec<&Pattern> = library.patterns().iter().collect();
    let wanted = LookedFor { patterns: &patterns, practised: false };
    let mut rng = Rng::new(1);
    let found = FreeVocabulary::of(&line, wanted, library, &mut || rng.uniform());
    let heights: Vec<i32> = line.notes.iter().map(|note| note.pitch.0).collect();
    let moves = |notes: &std::ops::Range<usize>| -> Vec<i32> {
        heights[notes.clone()].windows(2).map(|pair| pair[1] - pair[0]).collect()
    };
    for habit in &found.habits {
        let cell = moves(&habit.places[0]);
        assert!(habit.places.len() > 1 && habit.places.iter().all(|notes| moves(notes) == cell), "{cell:?}");
        assert!(habit.places.windows(2).all(|pair| pair[0].end <= pair[1].start + 1), "{:?}", habit.places);
    }
    let whole = |of: &Pattern, notes: &std::ops::Range<usize>| {
        let written: Vec<i32> =
            of.notes().windows(2).map(|pair| pair[1].degree.half_steps - pair[0].degree.half_steps).collect();
        moves(notes) == written
    };
    let mut compared = 0;
    for one in &found.patterns {
        for place in one.places.iter().filter(|it| !it.broken && it.changed.is_none() && it.from.is_none()) {
            assert!(whole(one.pattern, &place.notes), "{} at {:?}", one.pattern.name, place.notes);
            compared += 1;
        }
    }
    println!("{} habits, {} patterns, {compared} whole places compared", found.habits.len(), found.patterns.len());
    assert!(compared >= 5 && found.habits.len() >= 5, "{compared} {}", found.habits.len());
}
