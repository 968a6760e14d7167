use std::collections::BTreeMap;

/// A value of a row; each has its type even where nothing stands there.
#[derive(Debug, Clone, Copy)]
pub(super) enum TableValue<'a> {
    Truth(Option<bool>),
    Count(Option<i32>),
    Id(i64),
    Real(Option<f64>),
    Word(Option<&'a str>),
    Day(i32),
    Instant(Option<i64>),
}

/// The values of a column, without those that are missing.
#[derive(Debug, Clone)]
pub enum ColumnValues {
    /// Yes or no.
    Truth(Vec<bool>),
    /// Small whole numbers.
    Count(Vec<i32>),
    /// Large whole numbers.
    Id(Vec<i64>),
    /// Seconds, cents, quarters a minute.
    Real(Vec<f64>),
    /// Places in a list of words, the list, and the place of each word.
    Word(Vec<usize>, Vec<String>, BTreeMap<String, usize>),
    /// Days since 1970-01-01.
    Day(Vec<i32>),
    /// Milliseconds since 1970-01-01 on a local clock.
    Instant(Vec<i64>),
}

/// A column of a table.
#[derive(Debug, Clone)]
pub struct TableColumn {
    /// Name of the column.
    pub name: &'static str,
    /// A 1 for each row that has a value, a 0 for each other.
    pub there: Vec<i16>,
    /// The values that are there.
    pub values: ColumnValues,
}

/// Rows, kept by column. The first row says which columns there are.
#[derive(Debug, Clone, Default)]
pub struct SchoolTable {
    /// The columns, in their order.
    pub columns: Vec<TableColumn>,
}

impl SchoolTable {
    /// Number of rows.
    #[must_use]
    pub fn rows(&self) -> usize {
        self.columns.first().map_or(0, |column| column.there.len())
    }

    /// Takes the rows out; the columns stay.
    pub fn clear(&mut self) {
        self.columns.iter_mut().for_each(TableColumn::clear);
    }

    /// Adds a row.
    pub(super) fn add(&mut self, row: &[(&'static str, TableValue<'_>)]) {
        if self.columns.is_empty() {
            self.columns = row.iter().map(|(name, value)| TableColumn::new(name, *value)).collect();
        }
        self.columns.iter_mut().zip(row).for_each(|(column, (_, value))| column.add(*value));
    }
}

impl TableColumn {
    fn new(name: &'static str, value: TableValue<'_>) -> Self {
        let values = match value {
            TableValue::Truth(_) => ColumnValues::Truth(Vec::new()),
            TableValue::Count(_) => ColumnValues::Count(Vec::new()),
            TableValue::Id(_) => ColumnValues::Id(Vec::new()),
            TableValue::Real(_) => ColumnValues::Real(Vec::new()),
            TableValue::Word(_) => ColumnValues::Word(Vec::new(), Vec::new(), BTreeMap::new()),
            TableValue::Day(_) => ColumnValues::Day(Vec::new()),
            TableValue::Instant(_) => ColumnValues::Instant(Vec::new()),
        };
        Self { name, there: Vec::new(), values }
    }

    fn clear(&mut self) {
        self.there.clear();
        match &mut self.values {
            ColumnValues::Truth(all) => all.clear(),
            ColumnValues::Count(all) | ColumnValues::Day(all) => all.clear(),
            ColumnValues::Id(all) | ColumnValues::Instant(all) => all.clear(),
            ColumnValues::Real(all) => all.clear(),
            ColumnValues::Word(all, ..) => all.clear(),
        }
    }

    fn add(&mut self, value: TableValue<'_>) {
        let there = match (&mut self.values, value) {
            (ColumnValues::Truth(all), TableValue::Truth(value)) => put(all, value),
            (ColumnValues::Count(all), TableValue::Count(value)) => put(all, value),
            (ColumnValues::Id(all), TableValue::Id(value)) => put(all, Some(value)),
            (ColumnValues::Real(all), TableValue::Real(value)) => put(all, value),
            (ColumnValues::Word(all, list, places), TableValue::Word(word)) => {
                let place = |word: &str| {
                    places.get(word).copied().unwrap_or_else(|| {
                        places.insert(word.to_owned(), list.len());
                        list.push(word.to_owned());
                        list.len() - 1
                    })
                };
                put(all, word.map(place))
            }
            (ColumnValues::Day(all), TableValue::Day(value)) => put(all, Some(value)),
            (ColumnValues::Instant(all), TableValue::Instant(value)) => put(all, value),
            // A column keeps the type of its first row.
            _ => false,
        };
        self.there.push(i16::from(there));
    }
}

/// Adds the value if there is one, and says whether there was.
fn put<T>(all: &mut Vec<T>, value: Option<T>) -> bool {
    let before = all.len();
    all.extend(value);
    all.len() > before
}
