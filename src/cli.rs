//! The command line as it is typed; the doc comments are the help.

use std::ffi::OsStr;
use std::path::PathBuf;

use clap::builder::{EnumValueParser, PossibleValue, PossibleValuesParser, TypedValueParser};
use clap::{Args, Parser, Subcommand, ValueEnum};

use crate::extracts::sources;
use crate::month::Month;
use crate::protocol::ready;
use crate::queries::split::Split;

/// Audit and outcomes analytics for newborn jaundice screening.
///
/// An audit of past care: not for decisions about a baby. Follow the local
/// protocol and a licensed clinician's judgement.
#[derive(Debug, Parser)]
#[command(name = "siskin", version, max_term_width = 100)]
pub struct Cli {
    /// Say only what was asked for, and errors.
    #[arg(long, short, global = true)]
    pub quiet: bool,
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Load the sample warehouse, render its last month, and say what to open.
    Demo(Demo),
    /// Load extracts into the warehouse.
    Load(Load),
    /// Render a month's pages and results.
    Report(Report),
    /// Say in words what differs between two reports.
    Compare(Compare),
    /// Print the measures of one or more months.
    Measure(Measure),
    /// Answer a question in SQL, reading only.
    Ask(Ask),
    /// List the tables, or the columns of one, in words.
    Describe(Describe),
    /// Compare files, ledger, protocol and queries with what they should be.
    Check(Check),
    /// Remove old snapshots.
    Tidy(Tidy),
    /// Write invented extracts of any size.
    Invent(Invent),
}

impl Cli {
    /// Threads asked for, where the command has a say in them.
    pub fn threads(&self) -> Option<usize> {
        let limits = match &self.command {
            Command::Load(load) => load.limits,
            Command::Report(report) => report.limits,
            Command::Measure(measure) => measure.limits,
            _ => return None,
        };
        limits.threads.map(usize::from)
    }
}

/// Which warehouse.
#[derive(Debug, Args)]
pub struct WarehouseArgs {
    /// The warehouse folder.
    #[arg(
        long,
        value_name = "FOLDER",
        env = "SISKIN_WAREHOUSE",
        default_value = "sample-warehouse"
    )]
    pub warehouse: PathBuf,
}

/// How much of the machine a command may use.
#[derive(Clone, Copy, Debug, Args)]
pub struct LimitArgs {
    /// Memory for queries, in MiB; beyond it sorts go to disk. Without it: an eighth of the
    /// machine's, at most 512.
    #[arg(long, value_name = "MIB", value_parser = clap::value_parser!(u32).range(16..))]
    pub memory: Option<u32>,
    /// Threads to work with. Without it: one for each core.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    pub threads: Option<u16>,
}

/// Which snapshot of which warehouse.
#[derive(Debug, Args)]
pub struct SnapshotArgs {
    #[command(flatten)]
    #[allow(missing_docs)]
    pub warehouse: WarehouseArgs,
    /// As it was known after this load, by its number. Without it: the newest.
    #[arg(long, value_name = "LOAD")]
    pub as_of: Option<i64>,
}

/// Options of `demo`.
#[derive(Debug, Args)]
pub struct Demo {
    /// The sample warehouse.
    #[arg(long, value_name = "FOLDER", default_value = "sample-warehouse")]
    pub warehouse: PathBuf,
    /// Where reports go.
    #[arg(long, value_name = "FOLDER", default_value = "reports")]
    pub out: PathBuf,
}

/// Options of `load`.
#[derive(Debug, Args)]
pub struct Load {
    #[command(flatten)]
    #[allow(missing_docs)]
    pub warehouse: WarehouseArgs,
    #[command(flatten)]
    #[allow(missing_docs)]
    pub limits: LimitArgs,
    /// CSV files named after their table (births, screens, serum, phototherapy,
    /// stays, exchanges, meter_checks, merges) or mapped by the warehouse's
    /// sources.toml, FHIR R4 bulk exports (.ndjson), HL7 v2 messages (.hl7), or
    /// folders of them.
    #[arg(required_unless_present = "retry", value_name = "FILES")]
    pub files: Vec<PathBuf>,
    /// Through when the data is complete: a time such as 2026-10-01T00:00 for all
    /// tables of this load, or TABLE=TIME for one. Without it: the table's latest event.
    #[arg(long, value_name = "[TABLE=]TIME")]
    pub through: Vec<String>,
    /// Read the files as this format, whatever their names.
    #[arg(long = "as", value_name = "FORMAT", value_enum)]
    pub format: Option<sources::Format>,
    /// Do everything but publish the result.
    #[arg(long)]
    pub dry_run: bool,
    /// Publish although this check of the records finds something that would stop the load.
    #[arg(long, value_name = "CHECK")]
    pub despite: Vec<String>,
    /// Show how each cell of the first rows is read, and load nothing.
    #[arg(long)]
    pub preview: bool,
    /// Read the rows again that earlier loads set aside, after sources.toml or the
    /// protocol was mended.
    #[arg(long)]
    pub retry: bool,
}

/// Options of `report`.
#[derive(Debug, Args)]
pub struct Report {
    #[command(flatten)]
    #[allow(missing_docs)]
    pub snapshot: SnapshotArgs,
    #[command(flatten)]
    #[allow(missing_docs)]
    pub limits: LimitArgs,
    /// The month, as YYYY-MM.
    #[arg(long)]
    pub month: Month,
    /// One unit alone: its own dashboard, without pages for the committee.
    #[arg(long, value_name = "UNIT")]
    pub unit: Option<String>,
    /// Where reports go.
    #[arg(long, value_name = "FOLDER", default_value = "reports")]
    pub out: PathBuf,
    /// Also write the month's babies to review, as a page and as a table. They hold identifiers.
    #[arg(long)]
    pub cases: bool,
}

/// Options of `compare`.
#[derive(Debug, Args)]
pub struct Compare {
    /// Folder of the older report, such as reports/2026-08.
    #[arg(value_name = "OLDER")]
    pub older: PathBuf,
    /// Folder of the newer report; of the same month it tells what was restated.
    #[arg(value_name = "NEWER")]
    pub newer: PathBuf,
}

/// Options of `measure`.
#[derive(Debug, Args)]
pub struct Measure {
    #[command(flatten)]
    #[allow(missing_docs)]
    pub snapshot: SnapshotArgs,
    #[command(flatten)]
    #[allow(missing_docs)]
    pub limits: LimitArgs,
    /// The month, as YYYY-MM; of several, the last.
    #[arg(long, required_unless_present = "explain")]
    pub month: Option<Month>,
    /// So many months, through the one given.
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u16).range(1..=1200))]
    pub months: u16,
    /// Besides the whole network, each group; `unit,skin_tone` for the groups in each unit.
    #[arg(long, value_parser = ByParser, value_delimiter = ',')]
    pub by: Vec<By>,
    /// Explain a measure or figure instead: its definition and SQL, and with a month the counts
    /// at each step from all rows to the numerator.
    #[arg(long, value_name = "MEASURE", conflicts_with_all = ["by", "months"])]
    pub explain: Option<String>,
    /// With --explain and a month: the keys behind each count.
    #[arg(long, requires = "explain", requires = "month")]
    pub rows: bool,
    /// How to print.
    #[arg(long, value_enum, default_value_t = Format::Table)]
    pub format: Format,
}

/// How results are printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For reading.
    Table,
    /// Comma-separated, with a line of column names.
    Csv,
    /// An array of objects.
    Json,
}

/// What figures are printed for besides the whole network.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
#[value(rename_all = "snake_case")]
pub enum By {
    /// Each unit.
    Unit,
    /// Bands of completed weeks of gestation.
    Gestation,
    /// Skin tone.
    SkinTone,
    /// Ethnicity.
    Ethnicity,
    /// Feeding.
    Feeding,
    /// Weekday and weekend of the index event.
    Weekend,
    /// Day (08:00 to 19:59) and night of the index event.
    Night,
}

/// Reads a word of `--by`, also with a space before it, as in `"unit, night"`.
#[derive(Clone, Debug)]
struct ByParser;

impl TypedValueParser for ByParser {
    type Value = By;

    fn parse_ref(&self, command: &clap::Command, arg: Option<&clap::Arg>, value: &OsStr) -> Result<By, clap::Error> {
        let text = value.to_str().map_or(value, |text| OsStr::new(text.trim()));
        EnumValueParser::<By>::new().parse_ref(command, arg, text)
    }

    fn possible_values(&self) -> Option<Box<dyn Iterator<Item = PossibleValue> + '_>> {
        let words = By::value_variants().iter().filter_map(By::to_possible_value);
        Some(Box::new(words))
    }
}

impl By {
    /// The word on the command line.
    pub fn word(self) -> String {
        self.to_possible_value()
            .map_or_else(String::new, |value| value.get_name().to_owned())
    }

    /// The split of babies or events; none for units.
    pub fn split(self) -> Option<Split> {
        match self {
            Self::Unit => None,
            Self::Gestation => Some(Split::Gestation),
            Self::SkinTone => Some(Split::SkinTone),
            Self::Ethnicity => Some(Split::Ethnicity),
            Self::Feeding => Some(Split::Feeding),
            Self::Weekend => Some(Split::Weekend),
            Self::Night => Some(Split::Night),
        }
    }
}

/// Options of `ask`.
#[derive(Debug, Args)]
pub struct Ask {
    #[command(flatten)]
    #[allow(missing_docs)]
    pub snapshot: SnapshotArgs,
    /// One SELECT. `siskin describe` lists the tables.
    #[arg(value_name = "SQL", allow_hyphen_values = true)]
    pub sql: String,
    /// How to print. A table for reading shows the first thousand rows.
    #[arg(long, value_enum, default_value_t = Format::Table)]
    pub format: Format,
    /// Memory the question may use, in MiB; beyond it sorts and joins go to disk.
    #[arg(long, value_name = "MIB", default_value_t = 1024, value_parser = clap::value_parser!(u32).range(1..))]
    pub memory: u32,
}

/// Options of `describe`.
#[derive(Debug, Args)]
pub struct Describe {
    #[command(flatten)]
    #[allow(missing_docs)]
    pub snapshot: SnapshotArgs,
    /// Its columns; without it all tables.
    pub table: Option<String>,
    /// Print a ready protocol to start from, in the manner of NICE CG98 or of the AAP 2022
    /// rules, for W/protocol.toml.
    #[arg(long, value_name = "NAME", value_parser = ready_protocols(), conflicts_with = "table")]
    pub protocol: Option<String>,
}

fn ready_protocols() -> PossibleValuesParser {
    PossibleValuesParser::new(ready::ALL.map(|(name, _)| name))
}

/// Options of `check`.
#[derive(Debug, Args)]
pub struct Check {
    #[command(flatten)]
    #[allow(missing_docs)]
    pub snapshot: SnapshotArgs,
}

/// Options of `tidy`.
#[derive(Debug, Args)]
pub struct Tidy {
    #[command(flatten)]
    #[allow(missing_docs)]
    pub warehouse: WarehouseArgs,
    /// How many of the newest loads to keep; reports can be rendered as of these.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..))]
    pub keep: u32,
}

/// Options of `invent`.
#[derive(Debug, Args)]
pub struct Invent {
    /// Births a month in the whole network.
    #[arg(long, value_name = "N")]
    pub births_per_month: u32,
    /// How many months.
    #[arg(long, value_name = "N")]
    pub months: u32,
    /// The last month, as YYYY-MM.
    #[arg(long, default_value = "2026-09")]
    pub ending: Month,
    /// Same seed, same bytes.
    #[arg(long, value_name = "N")]
    pub seed: u64,
    /// Protocol that the invented network works by; name it when you are not in the
    /// project's folder.
    #[arg(long, value_name = "FILE", default_value = "sample-warehouse/protocol.toml")]
    pub protocol: PathBuf,
    /// The format of the extracts.
    #[arg(long = "as", value_name = "FORMAT", value_enum, default_value_t = sources::Format::Csv)]
    pub format: sources::Format,
    /// A folder to make; it must not exist or must be empty.
    #[arg(long, value_name = "FOLDER")]
    pub out: PathBuf,
}
