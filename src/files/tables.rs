//! The tables of a school as Parquet files: `TABLE/class=CLASS/month=YYYY-MM/part-0.parquet`. (Feature `school`.)
//!
//! A month of a class is written whole under passing names and renamed into place, table by table: a program that reads them sees
//! each table either as it was before or as it is now.

use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use parquet::basic::Compression;
use parquet::data_type::{BoolType, ByteArray, ByteArrayType, DoubleType, Int32Type, Int64Type};
use parquet::errors::{ParquetError, Result as Written};
use parquet::file::metadata::KeyValue;
use parquet::file::properties::WriterProperties;
use parquet::file::writer::{SerializedColumnWriter, SerializedFileWriter};
use parquet::schema::parser::parse_message_type;

use crate::files::FileError;
use crate::files::places::{passing_name, private_file, private_folders, sweep};
use crate::report::{ColumnValues, Pseudonyms, SchoolTable, TableColumn, add_to_tables};
use crate::session::Session;

/// The tables, in the order in which a sitting fills them.
const TABLES: [&str; 3] = ["sittings", "answers", "notes"];
/// Number of rows of a table from which on the rows are written out, so that memory stays small whatever a month holds.
const GROUP: usize = 200_000;
/// Version of the tables; it rises when the meaning of a column changes. So far none did: columns were only added.
const VERSION: &str = "1";

/// One month of one class, while it is written.
pub struct MonthOfTables {
    rows: [SchoolTable; 3],
    files: [TableFile; 3],
}

/// The file of one table of the month.
struct TableFile {
    place: PathBuf,
    passing: PathBuf,
    rows: usize,
    writer: Option<SerializedFileWriter<File>>,
}

impl MonthOfTables {
    /// Begins a month below a folder. Nothing stands in its place before [`finish`](Self::finish).
    #[must_use]
    pub fn new(to: &Path, class: &str, month: &str) -> Self {
        let file = |table: &str| {
            let folder = to.join(table).join(format!("class={class}")).join(format!("month={month}"));
            let place = folder.join("part-0.parquet");
            TableFile { passing: passing_name(&place), place, rows: 0, writer: None }
        };
        Self { rows: Default::default(), files: TABLES.map(file) }
    }

    /// Adds the rows of a sitting.
    ///
    /// # Errors
    /// When the place cannot be written.
    pub fn add(&mut self, session: &Session, names: &dyn Pseudonyms) -> Result<(), FileError> {
        add_to_tables(session, names, &mut self.rows);
        let mut full = self.files.iter_mut().zip(&mut self.rows).filter(|(_, rows)| rows.rows() >= GROUP);
        full.try_for_each(|(file, rows)| file.take(rows))
    }

    /// Puts all tables into their places, and returns how many rows each has.
    ///
    /// # Errors
    /// When a place cannot be written; each table is then whole, either as it was before or new.
    pub fn finish(mut self) -> Result<[usize; 3], FileError> {
        for (file, rows) in self.files.iter_mut().zip(&mut self.rows) {
            file.take(rows)?;
            file.close()?;
        }
        self.files.iter().try_for_each(TableFile::rename)?;
        Ok([0, 1, 2].map(|table| self.files[table].rows))
    }
}

impl Drop for TableFile {
    fn drop(&mut self) {
        // A file that was renamed is no longer there to be removed.
        let _ = fs::remove_file(&self.passing);
    }
}

impl TableFile {
    fn take(&mut self, rows: &mut SchoolTable) -> Result<(), FileError> {
        if rows.rows() == 0 {
            return Ok(());
        }
        self.rows += rows.rows();
        let failed = failure(&self.place);
        if self.writer.is_none() {
            self.writer = Some(self.begin(rows)?);
        }
        if let Some(writer) = &mut self.writer {
            group(writer, rows).map_err(|error| failed(&error))?;
        }
        rows.clear();
        Ok(())
    }

    fn begin(&self, rows: &SchoolTable) -> Result<SerializedFileWriter<File>, FileError> {
        let io = |error: &std::io::Error| FileError::system("write", &self.place, error);
        if let Some(folder) = self.place.parent() {
            private_folders(folder).map_err(|error| io(&error))?;
            sweep(folder);
        }
        let file = private_file(&self.passing).map_err(|error| io(&error))?;
        // The sweep of another program leaves a locked file where it is.
        let _ = file.try_lock();
        let schema = parse_message_type(&schema(rows)).map_err(|error| failure(&self.place)(&error))?;
        let version = KeyValue::new("earfirst.tables".to_owned(), VERSION.to_owned());
        let properties = WriterProperties::builder()
            .set_compression(Compression::SNAPPY)
            .set_key_value_metadata(Some(vec![version]))
            .set_created_by(concat!("earfirst ", env!("CARGO_PKG_VERSION")).to_owned());
        SerializedFileWriter::new(file, Arc::new(schema), Arc::new(properties.build()))
            .map_err(|error| failure(&self.place)(&error))
    }

    fn close(&mut self) -> Result<(), FileError> {
        let Some(writer) = self.writer.take() else { return Ok(()) };
        let file = writer.into_inner().map_err(|error| failure(&self.place)(&error))?;
        file.sync_all().map_err(|error| FileError::system("write", &self.place, &error))
    }

    fn rename(&self) -> Result<(), FileError> {
        let moved = if self.rows > 0 { fs::rename(&self.passing, &self.place) } else { absent(&self.place) };
        moved.map_err(|error| FileError::system("write", &self.place, &error))
    }
}

/// Removes the file of a table that has no rows.
fn absent(place: &Path) -> std::io::Result<()> {
    if place.exists() { fs::remove_file(place) } else { Ok(()) }
}

fn failure(place: &Path) -> impl Fn(&ParquetError) -> FileError {
    let place = place.to_owned();
    move |error| match error {
        ParquetError::External(why) if let Some(io) = why.downcast_ref::<std::io::Error>() => {
            FileError::system("write", &place, io)
        }
        other => FileError::unreadable("write", &place, other.to_string(), "try another folder"),
    }
}

fn schema(rows: &SchoolTable) -> String {
    let field = |column: &TableColumn| {
        let (kind, meaning) = match column.values {
            ColumnValues::Truth(_) => ("boolean", ""),
            ColumnValues::Count(_) => ("int32", ""),
            ColumnValues::Id(_) => ("int64", ""),
            ColumnValues::Real(_) => ("double", ""),
            ColumnValues::Word(..) => ("binary", " (STRING)"),
            ColumnValues::Day(_) => ("int32", " (DATE)"),
            ColumnValues::Instant(_) => ("int64", " (TIMESTAMP(MILLIS,false))"),
        };
        format!("optional {kind} {}{meaning};\n", column.name)
    };
    format!("message earfirst {{\n{}}}", rows.columns.iter().map(field).collect::<String>())
}

fn group(writer: &mut SerializedFileWriter<File>, rows: &SchoolTable) -> Written<()> {
    let mut group = writer.next_row_group()?;
    for column in &rows.columns {
        let Some(mut into) = group.next_column()? else { break };
        put(&mut into, column)?;
        into.close()?;
    }
    group.close().map(drop)
}

fn put(into: &mut SerializedColumnWriter<'_>, column: &TableColumn) -> Written<()> {
    let there = Some(&column.there[..]);
    let many = match &column.values {
        ColumnValues::Truth(all) => into.typed::<BoolType>().write_batch(all, there, None),
        ColumnValues::Count(all) | ColumnValues::Day(all) => into.typed::<Int32Type>().write_batch(all, there, None),
        ColumnValues::Id(all) | ColumnValues::Instant(all) => into.typed::<Int64Type>().write_batch(all, there, None),
        ColumnValues::Real(all) => into.typed::<DoubleType>().write_batch(all, there, None),
        ColumnValues::Word(all, list, _) => {
            let list: Vec<ByteArray> = list.iter().map(|word| ByteArray::from(word.as_str())).collect();
            let words: Vec<ByteArray> = all.iter().filter_map(|at| list.get(*at).cloned()).collect();
            into.typed::<ByteArrayType>().write_batch(&words, there, None)
        }
    };
    many.map(drop)
}
