/// A leap of so many half steps or more leads to the other hand: within one hand a line seldom leaps by a fifth again and again (common
/// practice).
const LEAP: i32 = 7;
/// The line leads down to the other hand at least so often.
const OFTEN: usize = 3;

/// The highest pitch of the lower and the lowest of the upper of two registers between which a line leaps to and fro, as it does where one
/// hand plays in the gaps of the other; `None` where it does not, or where they meet.
#[must_use]
pub fn two_registers(pitches: &[i32]) -> Option<(i32, i32)> {
    let leaps: Vec<(usize, bool)> = (1..pitches.len())
        .filter(|n| (pitches[*n] - pitches[n - 1]).abs() >= LEAP)
        .map(|n| (n, pitches[n] < pitches[n - 1]))
        .collect();
    let to_and_fro = leaps.windows(2).all(|pair| pair[0].1 != pair[1].1);
    let often = leaps.iter().filter(|(_, down)| *down).count() >= OFTEN;
    let (first, down) = leaps.first().copied().filter(|_| to_and_fro && often)?;
    let mut low = !down;
    let (mut top, mut bottom) = (i32::MIN, i32::MAX);
    for (n, pitch) in pitches.iter().enumerate() {
        if n >= first && leaps.iter().any(|(leap, _)| *leap == n) {
            low = !low;
        }
        if low {
            top = top.max(*pitch);
        } else {
            bottom = bottom.min(*pitch);
        }
    }
    (top < bottom).then_some((top, bottom))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_left_hand_in_the_gaps_of_the_right_is_another_register_and_a_line_that_leaps_on_its_way_is_none() {
        // A row of five notes from middle C with C3 and G3 in its gaps.
        assert_eq!(two_registers(&[60, 48, 62, 64, 55, 65, 67, 48, 65, 64, 55, 62, 60]), Some((55, 60)));
        assert_eq!(two_registers(&[48, 60, 62, 48, 64, 55, 65, 48, 67]), Some((55, 60)), "the left hand begins");
        assert_eq!(two_registers(&[60, 62, 64, 65, 67, 65, 64, 62, 60]), None);
        assert_eq!(two_registers(&[60, 67, 74, 81, 74, 67, 60, 72]), None, "fifths upon fifths");
        assert_eq!(two_registers(&[60, 48, 62, 64, 55, 65]), None, "twice");
        assert_eq!(two_registers(&[60, 48, 60, 58, 50, 58, 54, 46, 62, 55]), None, "they meet");
        assert_eq!(two_registers(&[]), None);
    }
}
