use std::sync::LazyLock;

use crate::chart::file::read_forms;
use crate::chart::misprint::Misprint;
use crate::chart::named_chart::NamedChart;
use crate::music::slips;

/// The texts of the files of forms that come with the program.
const BUILT_IN: [&str; 4] = [
    include_str!("../../assets/charts/blues.toml"),
    include_str!("../../assets/charts/cadences.toml"),
    include_str!("../../assets/charts/vamps.toml"),
    include_str!("../../assets/charts/songs.toml"),
];

static FORMS: LazyLock<Forms> = LazyLock::new(|| {
    let mut forms = Forms::default();
    BUILT_IN.iter().flat_map(|text| read_forms(text).0).for_each(|form| forms.add(form));
    forms
});

/// Forms by id, in the order of their files.
#[derive(Debug, Clone, Default)]
pub struct Forms(Vec<NamedChart>);

/// No form has the name that was asked for.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("no chart is called `{asked}`{}", if nearest.is_empty() { String::new() } else { format!("; near it: {}", nearest.join(", ")) })]
pub struct UnknownChart {
    /// What was asked for, shortened to 40 letters.
    pub asked: String,
    /// Up to three ids that are like what was asked for, the most similar first.
    pub nearest: Vec<String>,
}

impl Forms {
    /// The forms that come with the program, read once.
    #[must_use]
    pub fn builtin() -> &'static Self {
        &FORMS
    }
    /// The built-in forms and those of the player's own files, which are given as name and text; and the misprints, each with the
    /// name of its file. An own form replaces a built-in form with the same id.
    #[must_use]
    pub fn with_own<'f>(files: impl IntoIterator<Item = (&'f str, &'f str)>) -> (Self, Vec<(String, Misprint)>) {
        let mut forms = Self::builtin().clone();
        let mut misprints = Vec::new();
        for (file, text) in files {
            let (own, wrong) = read_forms(text);
            own.into_iter().for_each(|form| forms.add(form));
            misprints.extend(wrong.into_iter().map(|misprint| (file.to_owned(), misprint)));
        }
        (forms, misprints)
    }
    /// Adds a form; where one has the same id, the new form takes its place.
    pub fn add(&mut self, form: NamedChart) {
        match self.0.iter_mut().find(|own| own.id == form.id) {
            Some(own) => *own = form,
            None => self.0.push(form),
        }
    }
    /// All forms, in the order of their files.
    #[must_use]
    pub fn all(&self) -> &[NamedChart] {
        &self.0
    }
    /// The form whose id or name was typed, in capitals or small letters; blanks may stand for the dashes of an id.
    ///
    /// # Errors
    /// [`UnknownChart`] with the nearest ids.
    pub fn find(&self, typed: &str) -> Result<&NamedChart, UnknownChart> {
        let asked = typed.trim().to_lowercase();
        let as_id = asked.replace([' ', '_'], "-");
        let found = self.0.iter().find(|form| form.id == as_id || form.name.to_lowercase() == asked);
        found.ok_or_else(|| {
            let away = |form: &&NamedChart| {
                if !as_id.is_empty() && form.id.contains(&as_id) { 0 } else { slips(&as_id, &form.id) }
            };
            let within = as_id.chars().count() / 2 + 1;
            let mut near: Vec<&NamedChart> = self.0.iter().filter(|form| away(form) <= within).collect();
            near.sort_by_key(away);
            let nearest = near.into_iter().take(3).map(|form| form.id.clone()).collect();
            UnknownChart { asked: typed.trim().chars().take(40).collect(), nearest }
        })
    }
}
