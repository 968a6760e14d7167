//! A list of patterns, page by page.

use crate::pattern::Library;
use crate::report::ListedPattern;
use crate::talk::failure::Failure;
use crate::talk::output::say;
use crate::words::numbers::{counted, numbered};
use crate::words::pattern_rows;
use crate::words::patterns::rhythm_word;

/// Number of patterns on a page: with the line below them they fit a screen of 24 lines.
const PAGE: usize = 20;

/// Which part of the list is wanted.
pub struct ListPart {
    /// The page that is wanted, counted from 1.
    pub page: usize,
    /// Whether all pages are wanted.
    pub all: bool,
    /// Whether the list is of what comes back today.
    pub today: bool,
}

/// Says the rows of one page, or of all, and how many patterns there are.
pub fn tell(library: &Library, found: &[ListedPattern<'_>], part: &ListPart) -> Result<(), Failure> {
    let pages = found.len().div_ceil(PAGE).max(1);
    let wanted = part.page;
    if wanted > pages {
        let what = format!("there is no page {wanted}: the list has {}", counted(pages, "page"));
        return Err(Failure::usage(what, "Without --page it begins at the first."));
    }
    let whole = part.all || pages == 1;
    let (skipped, taken) = if whole { (0, found.len()) } else { ((wanted - 1) * PAGE, PAGE) };
    for (pattern, back) in found.iter().skip(skipped).take(taken) {
        let words = back.clone().unwrap_or_else(|| rhythm_word(pattern).to_owned());
        say(pattern_rows::list_row(&library.typed(pattern), pattern, &words))?;
    }
    say(match found.len() {
        0 if part.today => "nothing comes back today".to_owned(),
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
