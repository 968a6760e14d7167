use crate::music::Degree;

/// Spells a line given in half steps above the tonic as players read it (common practice). A note outside the major scale that goes on by a
/// half step is named by where it goes: a sharp leads up, a flat leads down, to the next note or to the note that it encloses with the
/// next. So a run has sharps going up and flats coming down. Only a note reached by a leap (three half steps or more), of which one name
/// alone makes a plain interval, has that name: a third, not an augmented second. A note that does not go on by a half step is named by
/// where it came from, or so that the wider move beside it has its plain name. A repeated note keeps its name.
pub(super) fn by_motion(line: &[i32]) -> Vec<Degree> {
    let mut spelled: Vec<Degree> = Vec::with_capacity(line.len());
    for n in 0..line.len() {
        let degree = Degree::of_half_steps(line[n], sharp(line, n, &spelled));
        spelled.push(degree);
    }
    spelled
}

/// Whether note `n` is named as a sharp; `before` are the spelled notes before it.
fn sharp(line: &[i32], n: usize, before: &[Degree]) -> bool {
    let own = line[n];
    let last = before.last().copied();
    if let Some(same) = last.filter(|last| last.half_steps == own) {
        return plain(own) || same == Degree::of_half_steps(own, true);
    }
    let mut after = line[n..].iter().copied().skip_while(|other| *other == own);
    let (next, second) = (after.next(), after.next());
    let leap = last.filter(|last| (last.half_steps - own).abs() > 2).and_then(|last| beside(own, last));
    if let Some(goal) = goal(own, next, second, 1) {
        return leap.unwrap_or(goal > own);
    }
    let two_ago = n.checked_sub(2).map(|n| before[n]);
    if next.is_none()
        && let (Some(one), Some(other)) = (last, two_ago)
        && encloses(own, one.half_steps, other.half_steps)
        && let Some(named) = beside(own, other)
    {
        return named;
    }
    if let Some(same) = two_ago.filter(|other| other.half_steps == own) {
        return same == Degree::of_half_steps(own, true);
    }
    if let Some(last) = last.filter(|last| (last.half_steps - own).abs() == 1) {
        return last.half_steps < own;
    }
    let named = |other: i32| plain(other).then(|| beside(own, Degree::of_half_steps(other, true))).flatten();
    if let Some(named) = goal(own, next, second, 2).and_then(named) {
        return named;
    }
    // The wider of the moves to and from the note decides.
    let onward = next.and_then(|next| Some(((next - own).abs(), named(next)?)));
    let from = last.and_then(|last| Some(((last.half_steps - own).abs(), beside(own, last)?)));
    let wider = onward.into_iter().chain(from).max_by_key(|(by, _)| *by);
    wider.map(|(_, named)| named).unwrap_or_else(|| match (second, last, next) {
        (Some(second), ..) if (second - own).abs() == 1 => second > own,
        (_, Some(last), _) => last.half_steps < own,
        (.., next) => next.is_none_or(|next| next > own),
    })
}

/// Whether a note belongs to the major scale, so that it has one name.
fn plain(half_steps: i32) -> bool {
    Degree::of_half_steps(half_steps, true) == Degree::of_half_steps(half_steps, false)
}

/// Whether one note lies above and the other below `target`, each at most a whole step away.
fn encloses(target: i32, one: i32, other: i32) -> bool {
    (one < target) != (other < target) && [one, other].iter().all(|side| (1..=2).contains(&(side - target).abs()))
}

/// The note to which `own` leads, `away` half steps from it: the next note, where `away` is 1, or the second next, where `own` and
/// the next note enclose it.
fn goal(own: i32, next: Option<i32>, second: Option<i32>, away: i32) -> Option<i32> {
    let near = |goal: &i32| (goal - own).abs() == away;
    let enclosed = || second.filter(near).filter(|goal| next.is_some_and(|next| encloses(*goal, own, next)));
    next.filter(|next| away == 1 && near(next)).or_else(enclosed)
}

/// Whether `own` has to be a sharp (`true`) or a flat (`false`) to make a plain interval with the note beside it; `None` where both
/// make one, or neither does.
fn beside(own: i32, other: Degree) -> Option<bool> {
    let fits = |sharp: bool| {
        let degree = Degree::of_half_steps(own, sharp);
        let (up, letters) = (other.half_steps - own, other.letters - degree.letters);
        let (by, steps) = if up < 0 { (-up, -letters) } else { (up, letters) };
        // The letters of each plain interval: unison, minor and major seconds, thirds, sixths and sevenths, perfect fourth and fifth,
        // and both names of a tritone.
        let named = [&[0][..], &[1], &[1], &[2], &[2], &[3], &[3, 4], &[4], &[5], &[5], &[6], &[6]];
        named[(by % 12) as usize].contains(&(steps - 7 * (by / 12)))
    };
    let (sharp, flat) = (fits(true), fits(false));
    (sharp != flat).then_some(sharp)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_altered_note_is_named_by_where_it_goes() {
        // Common practice: runs, neighbours, enclosures, and moving thirds and fourths.
        for (line, named) in [
            (&[0, 1, 2, 3, 4][..], "1 #1 2 #2 3"),
            (&[4, 3, 2, 1, 0], "3 b3 2 b2 1"),
            (&[0, 1, 0, -1, 0], "1 b2 1 7, 1"),
            (&[0, 1, -1, 0], "1 b2 7, 1"),
            (&[2, 3, 1, 2], "2 b3 #1 2"),
            (&[8, 6, 7], "b6 #4 5"),
            (&[2, 1, -2, -1, 0], "2 b2 b7, 7, 1"),
            (&[0, -3, -2], "1 6, b7,"),
            (&[1, -2, -1], "#1 #6, 7,"),
            (&[0, 1, 2, 1, 2, 3, 2, 3, 4], "1 #1 2 #1 2 b3 2 #2 3"),
            (&[0, 3, 1, 4, 2, 5, 3, 6], "1 b3 #1 3 2 4 b3 b5"),
            (&[0, 5, 1, 6, 2, 7, 3, 8], "1 4 b2 b5 2 5 b3 b6"),
            (&[12, 7, 11, 7, 10, 7, 9, 7, 8, 7], "8 5 7 5 b7 5 6 5 b6 5"),
            (&[1, 1, 2], "#1 #1 2"),
            (&[3], "#2"),
            (&[], ""),
        ] {
            let spelled = by_motion(line);
            assert_eq!(spelled.iter().map(|degree| degree.half_steps).collect::<Vec<_>>(), line);
            let spelled: Vec<String> = spelled.iter().map(ToString::to_string).collect();
            assert_eq!(spelled.join(" "), named, "{line:?}");
        }
    }
}
