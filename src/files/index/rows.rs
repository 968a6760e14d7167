use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use rusqlite::types::Type;
use rusqlite::{Connection, Row, params};

use crate::coach::InUse;
use crate::cue::Form;
use crate::files::FileError;
use crate::files::index::in_time;
use crate::files::index::learners;
use crate::files::index::schema::IndexTrouble;
use crate::files::index::seal;
use crate::files::index::stamp::Stamp;
use crate::files::session_layout::READING;
use crate::music::{ConcertKey, Mode};
use crate::pattern::PatternId;
use crate::report::{AnswerFigures, SittingFigures};
use crate::session::{Began, Comment, Event, read, write_line};
use crate::units::{Seconds, Tempo};

/// One sitting of the index.
#[derive(Debug, Clone, PartialEq)]
pub struct IndexedSitting {
    /// The live folder, session file or record in which the sitting lies.
    pub path: PathBuf,
    /// The figures of the sitting.
    pub figures: SittingFigures,
    /// SHA-256 of the record of the sitting.
    pub(super) hash: Vec<u8>,
    /// What could not be read of the file, and why; `None` where all of it was read.
    pub(super) damage: Option<String>,
}

impl IndexedSitting {
    /// The part of the file that could not be read, as an error.
    pub(super) fn damaged(&self) -> Option<FileError> {
        let why = self.damage.as_ref()?;
        Some(FileError::unreadable(READING, &self.path, format!("in part: {why}"), "what could be read counts"))
    }
}

/// What the index knows of a file before anything is read.
pub(super) struct Known {
    /// Number of the sitting's row.
    pub sitting: i64,
    /// The stamp by which the file is known.
    pub stamp: Stamp,
    /// SHA-256 of the record in the file.
    pub hash: Vec<u8>,
}

/// A path as the bytes that the index holds; they are only compared, never made a path again.
pub(super) fn name(path: &Path) -> Vec<u8> {
    path.as_os_str().as_encoded_bytes().to_vec()
}

/// All files that the index knows.
pub(super) fn known(db: &Connection) -> rusqlite::Result<BTreeMap<Vec<u8>, Known>> {
    let mut found = db.prepare("select path, sitting, size, changed_ns, sha256 from sittings")?;
    let known = found.query_map([], |row| {
        let stamp = Stamp { size: row.get(2)?, changed: row.get(3)? };
        Ok((row.get(0)?, Known { sitting: row.get(1)?, stamp, hash: row.get(4)? }))
    })?;
    known.collect()
}

/// Takes out the sitting that lay at a path.
pub(super) fn remove_at(db: &Connection, path: &Path) -> rusqlite::Result<()> {
    let mut at = db.prepare("select sitting from sittings where path = ?")?;
    let found: Vec<i64> = at.query_map([name(path)], |row| row.get(0))?.collect::<Result<_, _>>()?;
    found.into_iter().try_for_each(|sitting| remove(db, sitting))
}

/// Takes a sitting out, and whatever was learnt from it.
pub(super) fn remove(db: &Connection, sitting: i64) -> rusqlite::Result<()> {
    let hash: Vec<u8> = db.query_row("select sha256 from sittings where sitting = ?", [sitting], |row| row.get(0))?;
    learners::forget(db, &hash)?;
    db.prepare("delete from answers where sitting = ?")?.execute([sitting])?;
    db.prepare("delete from sittings where sitting = ?")?.execute([sitting])?;
    Ok(())
}

/// Enters the new size and time of a file whose record is unchanged.
pub(super) fn touched(db: &Connection, sitting: i64, stamp: Stamp) -> rusqlite::Result<()> {
    let stamp = stamp.kept();
    let mut touch = db.prepare("update sittings set size = ?, changed_ns = ? where sitting = ?")?;
    touch.execute(params![stamp.size, stamp.changed, sitting])?;
    Ok(())
}

/// Enters a sitting and returns the number of its row.
pub(super) fn put(
    db: &Connection,
    path: &Path,
    stamp: Stamp,
    hash: &[u8],
    damage: Option<&str>,
    figures: &SittingFigures,
) -> rusqlite::Result<i64> {
    let stamp = stamp.kept();
    let began = write_line(&Event::Began(figures.began.clone()));
    let answers_seal = seal::of_answers(&figures.answers);
    let comments: String =
        figures.comments.iter().map(|comment| write_line(&Event::Commented(comment.clone()))).collect();
    let seal = seal::of_sitting(hash, damage, [&began, &comments], figures, &answers_seal);
    let mut sittings =
        db.prepare("insert into sittings values (null, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)")?;
    let times = (figures.lasted.0, figures.sounding.0, figures.resting.0);
    sittings.execute(params![
        name(path),
        stamp.size,
        stamp.changed,
        hash,
        damage,
        began,
        times.0,
        times.1,
        figures.rests,
        times.2,
        comments,
        in_time::bytes(figures),
        in_time::task_bytes(figures.second_task.as_ref()),
        figures.in_use.to_bytes(),
        answers_seal,
        seal
    ])?;
    let sitting = db.last_insert_rowid();
    let mut answers = db.prepare("insert into answers values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)")?;
    for (turn, answer) in figures.answers.iter().enumerate() {
        answers.execute(params![
            sitting,
            i64::try_from(turn).unwrap_or(i64::MAX),
            answer.pattern.0,
            answer.title,
            i64::try_from(answer.key.place()).unwrap_or(0),
            answer.mode.name(),
            answer.form.place(),
            answer.whole,
            answer.right,
            answer.of,
            answer.reflex.map(|time| time.0),
            answer.pace.map(|pace| pace.0),
            answer.away,
            answer.held_out
        ])?;
    }
    Ok(sitting)
}

/// The sittings of these rows, in this order, with their answers.
pub(super) fn all(db: &Connection, order: &[(i64, PathBuf)]) -> Result<Vec<IndexedSitting>, IndexTrouble> {
    let mut answers: BTreeMap<i64, Vec<AnswerFigures>> = BTreeMap::new();
    let mut found = db.prepare("select * from answers order by sitting, turn")?;
    let mut rows = found.query([])?;
    while let Some(row) = rows.next()? {
        answers.entry(row.get(0)?).or_default().push(answer(row)?);
    }
    let (mut sittings, seals) = heads(db, order)?;
    for ((sitting, seal), (number, _)) in sittings.iter_mut().zip(seals).zip(order) {
        sitting.figures.answers = answers.remove(number).unwrap_or_default();
        if seal::of_answers(&sitting.figures.answers) != seal {
            return Err(IndexTrouble::Foreign);
        }
    }
    Ok(sittings)
}

/// Reads the sittings without their answers, and the seals of the answers.
pub(super) fn heads(
    db: &Connection,
    order: &[(i64, PathBuf)],
) -> Result<(Vec<IndexedSitting>, Vec<Vec<u8>>), IndexTrouble> {
    let mut found = db.prepare("select * from sittings where sitting = ?")?;
    let (mut sittings, mut seals) = (Vec::with_capacity(order.len()), Vec::with_capacity(order.len()));
    for (number, path) in order {
        let (sitting, seal) = found.query_row([number], |row| sitting(row, path))?;
        sittings.push(sitting);
        seals.push(seal);
    }
    Ok((sittings, seals))
}

fn sitting(row: &Row<'_>, path: &Path) -> rusqlite::Result<(IndexedSitting, Vec<u8>)> {
    let (line, comments): (String, String) = (row.get(6)?, row.get(11)?);
    let (in_time, task, in_use): (Vec<u8>, Vec<u8>, Vec<u8>) = (row.get(12)?, row.get(13)?, row.get(14)?);
    let figures = SittingFigures {
        began: began(&line).ok_or_else(|| wrong(6, Type::Text))?,
        lasted: Seconds(row.get(7)?),
        sounding: Seconds(row.get(8)?),
        rests: row.get(9)?,
        resting: Seconds(row.get(10)?),
        answers: Vec::new(),
        late: in_time::late(&in_time),
        rounds: in_time::rounds(&in_time),
        by_ear: in_time::by_ear(&in_time),
        second_task: in_time::task(&task),
        in_use: InUse::from_bytes(&in_use).ok_or_else(|| wrong(14, Type::Blob))?,
        comments: said(&line, &comments),
    };
    let (answers, sealed): (Vec<u8>, Vec<u8>) = (row.get(15)?, row.get(16)?);
    let found = IndexedSitting { path: path.to_owned(), figures, hash: row.get(4)?, damage: row.get(5)? };
    if seal::of_sitting(&found.hash, found.damage.as_deref(), [&line, &comments], &found.figures, &answers) != sealed {
        return Err(wrong(16, Type::Blob));
    }
    Ok((found, answers))
}

/// The header, which is kept as its line of the record.
fn began(line: &str) -> Option<Began> {
    match read(line.as_bytes()) {
        (events, None) => events.into_iter().next().and_then(|event| match event {
            Event::Began(began) => Some(began),
            _ => None,
        }),
        _ => None,
    }
}

/// The comments on a sitting. They are kept as their lines of the record, which can be read only behind a header.
fn said(began: &str, lines: &str) -> Vec<Comment> {
    let events = read(format!("{began}{lines}").as_bytes()).0.into_iter();
    events.filter_map(|event| if let Event::Commented(comment) = event { Some(comment) } else { None }).collect()
}

/// The sittings that have comments, with the comments.
pub(super) fn commented(db: &Connection, order: &[(i64, PathBuf)]) -> Result<Vec<IndexedSitting>, IndexTrouble> {
    let mut found = db.prepare("select sitting from sittings where comments <> ''")?;
    let numbers: std::collections::BTreeSet<i64> = found.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?;
    let order: Vec<_> = order.iter().filter(|(number, _)| numbers.contains(number)).cloned().collect();
    Ok(heads(db, &order)?.0)
}

fn answer(row: &Row<'_>) -> rusqlite::Result<AnswerFigures> {
    let (place, mode, form): (u8, String, u8) = (row.get(4)?, row.get(5)?, row.get(6)?);
    Ok(AnswerFigures {
        pattern: PatternId(row.get(2)?),
        title: row.get(3)?,
        key: ConcertKey::FIFTHS.get(usize::from(place)).copied().ok_or_else(|| wrong(4, Type::Integer))?,
        mode: Mode::ALL.into_iter().find(|it| it.name() == mode).ok_or_else(|| wrong(5, Type::Text))?,
        form: Form::ALL.get(usize::from(form)).copied().ok_or_else(|| wrong(6, Type::Integer))?,
        whole: row.get(7)?,
        right: row.get(8)?,
        of: row.get(9)?,
        reflex: row.get::<_, Option<f64>>(10)?.map(Seconds),
        pace: row.get::<_, Option<f64>>(11)?.map(Tempo),
        away: row.get(12)?,
        held_out: row.get(13)?,
    })
}

/// The error for a value in the index that this program does not write.
fn wrong(column: usize, kind: Type) -> rusqlite::Error {
    rusqlite::Error::FromSqlConversionFailure(column, kind, "a value that earfirst does not write".into())
}
