//! Builds the derived tables and the cases of the measures: what is of no baby first, then
//! portion by portion of the babies, each query when those it reads are there, several at a time.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use arrow::array::RecordBatch;
use arrow::datatypes::SchemaRef;

use crate::engine::{Session, next_batch};
use crate::warehouse::{Building, ByMonth, Site, TableEntry};

use super::cases;
use super::catalogue::{self, Query};
use super::portions::Portions;
use super::renewed::{OF_BABIES, Renewed};
use super::run::{QueryError, Tasks, pour};

/// Bytes of each table that stay in memory while portions are derived one after another.
const MOST_BYTES_IN_MEMORY: usize = 4 << 20;

/// A snapshot of which the derived tables are to be built.
pub struct Deriving<'a> {
    session: &'a Session,
    building: &'a mut Building,
    renewed: Option<Renewed>,
    portions: Portions,
}

impl<'a> Deriving<'a> {
    /// The snapshot must hold the source tables, their versions, `data_ends` and the protocol
    /// tables. With `renewed`, only of its babies, whose rows are put among those of all others
    /// as they were, in the months of these babies. At most about `most_rows` are derived together.
    ///
    /// # Errors
    /// When a source table cannot be read, or the scratch folder cannot be written.
    pub fn begin(
        session: &'a Session,
        building: &'a mut Building,
        renewed: Option<Renewed>,
        most_rows: u64,
    ) -> Result<Self, QueryError> {
        let portions = Portions::deal(session, building, renewed.as_ref(), most_rows)?;
        Ok(Self {
            session,
            building,
            renewed,
            portions,
        })
    }

    /// How often `progress` is called.
    pub fn steps(&self) -> u64 {
        let of_each = of_babies().count() as u64;
        let of_all = (catalogue::derived().len() + catalogue::measures().len()) as u64 - of_each;
        self.portions.len() * of_each + of_all
    }

    /// Builds the tables and adds them to the snapshot. `progress` is called with the name of each.
    ///
    /// # Errors
    /// When a query fails or its rows cannot be stored.
    pub async fn run(mut self, progress: &mut dyn FnMut(&str)) -> Result<(), QueryError> {
        for (name, entry) in &self.building.manifest().tables {
            self.session.add_files(name, self.building.site().path(), entry)?;
        }
        for query in catalogue::derived().iter().filter(|query| !is_by_month(query)) {
            progress(query.name);
            let site = self.building.site().clone();
            let whole = pour(self.session, query.as_sql(), &[], |rows| {
                site.table(query.name, &rows.schema(), None)
            })
            .await?;
            self.keep(query.name, whole)?;
        }
        for (name, rows) in self.portion_by_portion(progress).await? {
            let whole = match name {
                cases::TABLE => {
                    progress(name);
                    cases::with_those_of_months(self.session, self.building, self.renewed.as_ref(), rows).await?
                }
                _ => self.with_those_of_others(name, rows)?,
            };
            self.keep(name, whole)?;
        }
        Ok(())
    }

    /// Adds a finished table to the snapshot; later queries see it.
    fn keep(&mut self, name: &str, whole: TableEntry) -> Result<(), QueryError> {
        self.building.add(name, whole.clone())?;
        Ok(self.session.add_files(name, self.building.site().path(), &whole)?)
    }

    /// The whole of a derived table: where only some babies were derived, with the rows of all
    /// others as they were.
    fn with_those_of_others(&self, name: &str, mut rows: ByMonth) -> Result<TableEntry, QueryError> {
        let site = self.building.site();
        let Some((renewed, before)) = self.renewed.as_ref().zip(site.table_before(name)) else {
            return Ok(rows.finish(self.session.threads())?);
        };
        let mut months = renewed.months().clone();
        months.extend(rows.months().map(str::to_owned));
        rows.push_before(before, &months, |rows| renewed.are_of_others(rows))?;
        let mut whole = rows.finish(self.session.threads())?;
        whole.take_in(site.carry_over_months(name, |month| !months.contains(month))?);
        Ok(whole)
    }

    /// What is derived of the babies, of each table; the cases come last.
    async fn portion_by_portion(
        &mut self,
        progress: &mut dyn FnMut(&str),
    ) -> Result<Vec<(&'static str, ByMonth)>, QueryError> {
        let names = of_babies()
            .filter(|query| is_by_month(query) && query.is_stored())
            .map(|query| query.name);
        let outputs: Vec<(&str, Output)> = names
            .chain([cases::TABLE])
            .map(|name| (name, Output::default()))
            .collect();
        let output_of = |query: &Query| {
            let name = if is_by_month(query) { query.name } else { cases::TABLE };
            let found = outputs.iter().find(|(table, _)| *table == name);
            found.map(|(_, output)| output.clone())
        };
        let of_no_baby = of_no_baby();
        let at_once = self.session.threads();
        let mut next = 0;
        let mut open: BTreeMap<u64, Portion> = BTreeMap::new();
        let mut tasks = Tasks::new();
        loop {
            while tasks.running() < at_once {
                let ready = open
                    .iter_mut()
                    .find_map(|(number, portion)| Some((*number, portion.next()?)));
                let (number, query) = match ready {
                    Some(ready) => ready,
                    None if next < self.portions.len() && open.len() < self.portions.at_a_time() => {
                        match self.portions.take(next, self.session, &of_no_baby).await {
                            Ok(session) => open.insert(next, Portion::new(session)),
                            Err(error) => {
                                tasks.stop().await;
                                return Err(error);
                            }
                        };
                        next += 1;
                        continue;
                    }
                    None => break,
                };
                progress(query.name);
                let session = open[&number].session.clone();
                let site = self.building.site().clone();
                let most_bytes = (self.portions.len() > 1).then_some(MOST_BYTES_IN_MEMORY);
                let one = One {
                    query,
                    site,
                    most_bytes,
                    output: output_of(query),
                };
                tasks.spawn(async move { Ok::<_, QueryError>((number, query, one.run(&session).await?)) });
            }
            let Some((number, query, derived)) = tasks.next().await? else {
                break;
            };
            if let Some(portion) = open.get_mut(&number) {
                portion.running -= 1;
                if is_by_month(query) {
                    portion.missing.retain(|name| *name != query.name);
                    if let Err(error) = portion.session.add_batches(query.name, &derived.0, derived.1) {
                        tasks.stop().await;
                        return Err(error.into());
                    }
                }
                if portion.running == 0 && portion.waiting.is_empty() {
                    open.remove(&number);
                }
            }
        }
        let unfinished = |name: &str| QueryError::Shape {
            measure: name.to_owned(),
            why: "not every portion of the babies was derived".to_owned(),
        };
        if let Some(query) = open.values().find_map(|portion| portion.waiting.first()) {
            return Err(unfinished(query.name));
        }
        let all = outputs.into_iter().map(|(name, output)| {
            let rows =
                Arc::into_inner(output).and_then(|rows| rows.into_inner().unwrap_or_else(PoisonError::into_inner));
            Ok((name, rows.ok_or_else(|| unfinished(name))?))
        });
        all.collect()
    }
}

/// Rows of all portions of a table, once any have come.
type Output = Arc<Mutex<Option<ByMonth>>>;

/// A portion that is being derived.
struct Portion {
    session: Session,
    waiting: Vec<&'static Query>,
    /// Derived tables that are not there yet.
    missing: Vec<&'static str>,
    running: usize,
}

impl Portion {
    fn new(session: Session) -> Self {
        Self {
            session,
            waiting: of_babies().collect(),
            missing: of_babies()
                .filter(|query| is_by_month(query))
                .map(|query| query.name)
                .collect(),
            running: 0,
        }
    }

    /// A query of which all is there that it reads.
    fn next(&mut self) -> Option<&'static Query> {
        let is_ready = |query: &Query| {
            !query
                .header
                .list("reads")
                .iter()
                .any(|read| self.missing.contains(read))
        };
        let place = self.waiting.iter().position(|query| is_ready(query))?;
        self.running += 1;
        Some(self.waiting.remove(place))
    }
}

/// One query over one portion.
struct One {
    query: &'static Query,
    site: Site,
    most_bytes: Option<usize>,
    /// None of a table that is not kept.
    output: Option<Output>,
}

impl One {
    /// Adds its rows to those of other portions; gives them back where later queries may read them.
    async fn run(self, session: &Session) -> Result<(SchemaRef, Vec<RecordBatch>), QueryError> {
        let query = self.query;
        let mut rows = session.stream(query.as_sql(), &[]).await?;
        let schema = rows.schema();
        let mut kept = Vec::new();
        if !is_by_month(query) {
            cases::check_columns(query, &schema)?;
        }
        self.push(None, &schema)?;
        while let Some(batch) = next_batch(query.name, &mut rows).await? {
            self.push(Some(&batch), &schema)?;
            if is_by_month(query) {
                kept.push(batch);
            }
        }
        Ok((schema, kept))
    }

    fn push(&self, batch: Option<&RecordBatch>, schema: &SchemaRef) -> Result<(), QueryError> {
        let query = self.query;
        let is_derived = is_by_month(query);
        let cases = match batch {
            Some(batch) if !is_derived => Some(cases::as_cases(batch, query.name)?),
            _ => None,
        };
        let Some(output) = &self.output else {
            return Ok(());
        };
        let mut output = output.lock().unwrap_or_else(PoisonError::into_inner);
        let rows = output.get_or_insert_with(|| {
            let rows = match is_derived {
                true => self.site.by_month(query.name, schema, &query.header.list("order")),
                false => cases::by_month(&self.site),
            };
            match self.most_bytes {
                Some(most_bytes) => rows.within(most_bytes),
                None => rows,
            }
        });
        match cases.as_ref().or(batch) {
            Some(batch) => Ok(rows.push(batch)?),
            None => Ok(()),
        }
    }
}

/// Queries that are run for each portion: derived tables, and measures.
fn of_babies() -> impl Iterator<Item = &'static Query> {
    let derived = catalogue::derived().iter().filter(|query| is_by_month(query));
    derived.chain(
        catalogue::measures()
            .iter()
            .filter(|query| query.name != cases::OF_MONTHS),
    )
}

/// Tables that these queries read and that are of no baby.
fn of_no_baby() -> Vec<&'static str> {
    let mut reads: Vec<&str> = of_babies().flat_map(|query| query.header.list("reads")).collect();
    let is_of_babies = |name: &str| OF_BABIES.contains(&name) || of_babies().any(|query| query.name == name);
    reads.retain(|name| !is_of_babies(name));
    reads.sort_unstable();
    reads.dedup();
    reads
}

/// Whether a derived table has rows of a month each, of one baby.
fn is_by_month(query: &Query) -> bool {
    !query.header.get("order").is_empty()
}
