//! `siskin report`: a month's pages and results.
//!
//! Two folders, for two audiences: `quality/` can be opened by its owner alone, `committee/` may be
//! passed on. A unit's own report has only the first: numbers of a unit beside those of the
//! network would give small numbers back.

mod about;
mod files;
mod gathered;
pub(super) mod published;
mod records;
mod review_cases;
mod scope;
mod short_names;

use std::path::{Path, PathBuf};

use crate::cli::Report;
use crate::engine::{Limits, Session};
use crate::error::Error;
use crate::month::Month;
use crate::pages::{committee, dashboard};
use crate::protocol::Protocol;
use crate::queries::figures;
use crate::queries::measure::Measuring;
use crate::reviews::Reviews;
use crate::signals::agreement::Agreed;
use crate::signals::{Signals, told};
use crate::warehouse::{Snapshot, Warehouse};

use super::open;
use super::output::{Say, Work};
use files::{make_private, make_shared, write_private, write_shared};
use gathered::gather;
use review_cases::CaseOrder;
use scope::Scope;
use short_names::shorten;

/// The pages, in the order in which they are listed.
const PAGES: [&str; 3] = ["quality/dashboard.html", CASES, "committee/committee.html"];

/// The page with identifiers.
const CASES: &str = "quality/cases.html";

/// What is to be rendered.
pub struct Order<'a> {
    /// The month.
    pub month: Month,
    /// One unit alone.
    pub unit: Option<&'a str>,
    /// Also the babies to review, with identifiers.
    pub has_cases: bool,
    /// Where reports go.
    pub out: &'a Path,
    /// Where reviews of cases are saved; a `cases.csv` that holds more is not overwritten.
    pub reviews: &'a Path,
    /// What a session may use.
    pub limits: Limits,
}

/// Renders the month.
pub(super) async fn run(options: &Report, say: &Say) -> Result<(), Error> {
    let snapshot = open::snapshot(&options.snapshot, say).await?;
    open::has_cases(&snapshot)?;
    let order = Order {
        month: options.month,
        unit: options.unit.as_deref(),
        has_cases: options.cases,
        out: &options.out,
        reviews: &Warehouse::at(&options.snapshot.warehouse.warehouse)?.reviews_path(),
        limits: Limits::asked_for(options.limits.memory, options.limits.threads),
    };
    let written = write(&snapshot, &order, &say.work()).await?;
    if let Some(kept) = &written.kept {
        say.remark(&format!(
            "the table of cases that was there holds more than reviews.csv does: it is kept as {}; add its rows to {}",
            kept.display(),
            order.reviews.display()
        ));
    }
    for page in PAGES {
        let path = written.folder.join(page);
        if !path.is_file() {
            continue;
        }
        match options.cases || page != CASES {
            true => say.line(&format!("open {}", path.display()))?,
            false => say.remark(&format!(
                "{} is of an earlier report; --cases makes it anew",
                path.display()
            )),
        }
    }
    Ok(())
}

/// What was written.
pub struct Written {
    /// The report's folder.
    pub folder: PathBuf,
    /// Under which name a filled `cases.csv` was kept that is not saved as reviews.
    pub kept: Option<PathBuf>,
}

/// Writes the month's report from a snapshot.
///
/// # Errors
/// When the month or unit is not there, a query fails, or a file cannot be written.
pub async fn write(snapshot: &Snapshot, order: &Order<'_>, work: &Work) -> Result<Written, Error> {
    work.part("reading tables", 0);
    let protocol = Protocol::parse(&snapshot.protocol_text()?)?;
    let session = Session::of(snapshot, &order.limits)?;
    let measuring = Measuring {
        session: &session,
        protocol: &protocol,
        load: snapshot.manifest().load,
    };
    let months = measuring.months().await?;
    open::within(&months, order.month)?;
    let first = months.first().copied().unwrap_or(order.month);
    let scope = Scope::new(order.unit);
    let folder = order.out.join(order.month.to_string()).join(scope.folder());
    let quality = folder.join("quality");
    let mut gathered = gather(&measuring, snapshot, (first, order.month), &scope, work).await?;
    shorten(&mut gathered);
    work.part("writing pages", 0);
    make_shared(&folder)?;
    make_private(&quality)?;
    let to_mend = records::rows_to_mend(&session, &quality.join("set_aside.csv")).await?;
    let reviews = Reviews::parse(&snapshot.reviews_text()?)?;
    let mut kept = None;
    if order.has_cases {
        let cases = CaseOrder {
            session: &session,
            months: &months,
            month: order.month,
            unit: order.unit,
            reviews: &reviews,
            about: gathered.about(),
            zone: protocol.zone(),
        };
        kept = review_cases::write(&cases, &quality, order.reviews).await?;
    }
    let data = gathered.dashboard(to_mend, order.has_cases);
    write_private(&quality.join("dashboard.html"), &dashboard::render(&data)?)?;
    write_private(&quality.join("measures.json"), &figures::to_json(&gathered.reported)?)?;
    write_private(&quality.join("measures.csv"), &figures::to_csv(&gathered.reported))?;
    write_private(&quality.join("signals.json"), &signals_json(&gathered.signals)?)?;
    write_private(&quality.join("pairs.csv"), &pairs_csv(&gathered.agreed))?;
    if order.unit.is_none() {
        let reviewed = review_cases::reviewed(&session, (first, order.month), &reviews).await?;
        let shown = committee::render(&gathered.committee(&protocol, reviewed))?;
        let committee = folder.join("committee");
        make_shared(&committee)?;
        write_shared(&committee.join("committee.html"), &shown.page)?;
        write_shared(&committee.join("measures.csv"), &shown.csv)?;
    }
    published::publish(order.out, order.month, order.unit, measuring.load)?;
    Ok(Written { folder, kept })
}

/// The verdicts, one object a line.
fn signals_json(signals: &Signals) -> Result<String, Error> {
    let rows = signals
        .values()
        .map(|signalled| serde_json::to_string(&told::row(signalled)));
    let lines = rows.collect::<Result<Vec<String>, _>>()?;
    Ok(format!("[\n{}\n]\n", lines.join(",\n")))
}

/// The points of the difference plot, without whose they are.
fn pairs_csv(agreed: &Agreed) -> String {
    let rows = agreed
        .points
        .iter()
        .map(|(mean, difference)| format!("{mean},{difference}\n"));
    format!("mean_umol_l,screen_minus_serum_umol_l\n{}", rows.collect::<String>())
}
