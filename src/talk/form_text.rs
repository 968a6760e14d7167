//! The text of a form in a record.

use crate::chart::ChordChart;

/// Largest number of bytes of a form's text in the record.
const FORM_TEXT: usize = 2000;

/// A form as the record holds it, on one line: nothing where its text is longer than the record takes, since a part of it would be another
/// form.
pub fn form_text(form: &ChordChart) -> String {
    let mut text = String::new();
    for line in form.to_string().lines() {
        // A bar line that ends a line and begins the next is one.
        let ended = text.ends_with('|') && !text.ends_with("||") && !text.ends_with(":|");
        if ended && line.starts_with('|') && !line.starts_with("|:") {
            text.pop();
        } else if !text.is_empty() {
            text.push(' ');
        }
        text.push_str(line);
    }
    Some(text).filter(|text| text.len() <= FORM_TEXT).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::Forms;
    use crate::music::PitchClass;

    #[test]
    fn every_form_reads_the_same_from_the_record_in_every_key() {
        let mut read = 0;
        for form in Forms::builtin().all() {
            for key in 0..12 {
                let chart = form.chart.in_key(form.chart.tonality(PitchClass::new(key), false).tonic);
                let text = form_text(&chart);
                assert!(!text.contains('\n'), "{text}");
                let back = ChordChart::parse(&text);
                assert!(back.is_ok_and(|back| back.to_string() == chart.to_string()), "{}: {text}", form.id);
                read += 1;
            }
        }
        assert!(read > 12 * 24);
    }
}
