//! The chart that was meant: named, typed, or in a text file.

use std::path::Path;

use crate::chart::{ChordChart, Forms, NamedChart};
use crate::files::{Places, read_chart};
use crate::talk::failure::Failure;
use crate::talk::output::warn;
use crate::talk::player::Who;
use crate::units::Tempo;

/// The built-in forms and the player's own; a warning names a file with misprints.
pub fn forms() -> Result<Forms, Failure> {
    let own: Vec<(String, String)> =
        Places::usual()?.chart_files()?.into_iter().map(|(path, text)| (path.display().to_string(), text)).collect();
    let (forms, misprints) = Forms::with_own(own.iter().map(|(name, text)| (name.as_str(), text.as_str())));
    if let Some((file, first)) = misprints.first() {
        let more = if misprints.len() > 1 { format!(" (and {} more)", misprints.len() - 1) } else { String::new() };
        let all = "earfirst charts check FILE lists all that is to be mended.";
        warn(format!("left out of your charts: {file}:{first}{more}\n  {all}"));
    }
    Ok(forms)
}

/// The forms that are the player's own, in the order of their files.
pub fn own() -> Result<Vec<NamedChart>, Failure> {
    let built_in = |form: &NamedChart| Forms::builtin().find(&form.id).is_ok_and(|built_in| built_in == form);
    Ok(forms()?.all().iter().filter(|form| !built_in(form)).cloned().collect())
}

/// The chart that was typed: its chords, a text file, or the name of a form.
pub fn chart(typed: &str) -> Result<NamedChart, Failure> {
    if typed.contains('|') {
        return made(typed, "typed", "what was typed");
    }
    let file = Path::new(typed);
    if file.extension().is_some_and(|end| end == "txt") {
        return made(&text(file)?, "typed", &file.display().to_string());
    }
    let mend = "earfirst charts list shows them; or type its chords: \"| Dm7 | G7 | Cmaj7 | % |\".";
    forms()?.find(typed).cloned().map_err(|unknown| Failure::usage(unknown, mend))
}

/// A chart of the player's own, from its text.
pub fn made(text: &str, id: &str, place: &str) -> Result<NamedChart, Failure> {
    let chart = ChordChart::parse(text).map_err(|misprints| {
        let more = if misprints.len() > 1 { format!(" (and {} more)", misprints.len() - 1) } else { String::new() };
        let first = misprints.first();
        let (line, column) = first.map_or((1, 1), |first| (first.line, first.column));
        let what = first.map_or_else(String::new, |first| first.what.clone());
        let mend = first.map_or_else(String::new, |first| first.mend.clone());
        Failure::input(format!("{place}:{line}:{column}"), format!("{what}{more}"), format!("Mend it: {mend}."))
    })?;
    let source = "my own".to_owned();
    let name = id.to_owned();
    Ok(NamedChart { id: id.to_owned(), name, tempo: Tempo(120.0), swing: true, cycle: None, chart, source })
}

/// The text of a chart's file.
pub fn text(file: &Path) -> Result<String, Failure> {
    Ok(read_chart(file)?)
}

/// A form in letters on the player's page, in a key that was typed or as it stands there.
pub fn on_page(form: &NamedChart, key: Option<&str>, who: &Who) -> Result<ChordChart, Failure> {
    Ok(who.page.chart(form, key.map(|key| who.key(key)).transpose()?))
}
