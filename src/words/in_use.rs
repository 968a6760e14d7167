//! Joins and keys in use, in words, and why they come back more often.

use crate::coach::InUse;
use crate::pattern::Join;
use crate::words::numbers::count;

/// The patterns of a join, by name, and the kind of its seam.
#[must_use]
pub fn join(join: &Join, used: &InUse) -> String {
    format!("{} into {} {}", used.title(&join.before), used.title(&join.after), join.seam.words())
}

/// How often something broke lately, and when it was last tried, `days` ago: "broke in three of the latest four tries, last a week ago".
#[must_use]
pub fn broke(broke: u32, tries: u32, days: i32) -> String {
    let when = match days {
        ..=0 => "today".to_owned(),
        1 => "yesterday".to_owned(),
        7 => "a week ago".to_owned(),
        days => format!("{} days ago", count(days.unsigned_abs() as usize)),
    };
    let [broke, latest] = [broke, tries].map(|number| count(number as usize));
    match tries {
        1 => format!("broke {when}"),
        _ => format!("broke in {broke} of the latest {latest} tries, last {when}"),
    }
}
