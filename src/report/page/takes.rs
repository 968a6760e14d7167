//! Answers to listen to, each with its staff, its sentence and its sound.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use maud::{Markup, html};

use crate::report::page::chosen::ChosenTake;
use crate::report::page::staff::{staff, typeset, typeset_words};

/// A section of answers to listen to; `none` is its text where there is no answer.
pub(super) fn takes(heading: &str, legend: &str, takes: &[ChosenTake], none: &str) -> Markup {
    html! {
        section.takes {
            h2 { (heading) }
            @if takes.is_empty() { p { (none) } } @else { p.legend { (legend) } }
            @for take in takes { (one(take)) }
        }
    }
}

fn one(take: &ChosenTake) -> Markup {
    html! {
        article {
            (staff(&take.columns, take.clef))
            div.said {
                h3 { (typeset(&take.key)) ", " (take.title) }
                p { (typeset_words(&take.sentence)) }
                p.place { (take.place) }
                @match &take.flac {
                    Some(flac) => {
                        audio controls preload="none" aria-label=(format!("{}, {}", take.key, take.title))
                            src=(format!("data:audio/flac;base64,{}", STANDARD.encode(flac))) {}
                        @if take.rendered {
                            p.place.screen { "Played on a MIDI instrument; this sound is made from its notes." }
                        }
                    }
                    None if take.sound.is_none() => p.place.screen { "No sound of it was kept." },
                    None => p.place.screen { "Its sound is not in this page." },
                }
            }
        }
    }
}
