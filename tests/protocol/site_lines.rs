//! The site's own tables of lines: refused unless complete, and laid out as the built-in ones are.

use siskin::intake::settle::Through;
use siskin::protocol::{Protocol, ready};

use crate::harness::{INVENTED_LINES, TestWarehouse, aap_protocol};

const HEADER: &str = "standard,gestation_weeks,risk,age_h,phototherapy_umol_l,exchange_umol_l";

fn read(warehouse: &TestWarehouse) -> Result<Protocol, String> {
    Protocol::read(&warehouse.path().join("protocol.toml")).map_err(|error| error.to_string())
}

fn with_lines(text: &str) -> Result<Protocol, String> {
    let warehouse = TestWarehouse::aap();
    warehouse.set_lines(text);
    read(&warehouse).map_err(|said| said.replace(&warehouse.path().display().to_string(), "W"))
}

fn changed(from: &str, to: &str) -> String {
    assert!(INVENTED_LINES.contains(from), "{from}");
    INVENTED_LINES.replacen(from, to, 1)
}

#[track_caller]
fn refused(text: &str, why: &str) {
    let said = with_lines(text).expect_err(why);
    let (what, to_do) = said.split_once("\n  to do: ").unwrap_or_else(|| panic!("{said}"));
    assert_eq!(what, format!("the table of lines W/lines.csv is not valid: {why}"));
    assert!(to_do.len() > 10, "{said}");
}

#[track_caller]
fn refused_with(text: &str, why: &str, to_do: &str) {
    refused(text, why);
    let said = with_lines(text).expect_err(why);
    assert!(said.ends_with(&format!("\n  to do: {to_do}")), "{said}");
}

#[test]
fn the_ready_aap_protocol_is_refused_without_its_table() {
    let warehouse = TestWarehouse::with_protocol(ready::AAP_2022);
    let said = read(&warehouse).unwrap_err();
    let path = warehouse.path().join("aap_2022_lines.csv");
    assert_eq!(
        said,
        format!(
            "the table of lines {} is not there
  to do: siskin does not hold the published values of 'aap_2022'; write the site's own copy there, as CSV
    header: standard,gestation_weeks,risk,age_h,phototherapy_umol_l,exchange_umol_l
    standard: aap_2022 in every row
    gestation_weeks: each completed week from 35 on; the last one serves older babies
    risk: for each week absent, and again present
    age_h: for each of these 0, and every age in hours at which the published line bends, in this order; then a later age with the last values again, where it stays flat
    both values: in umol/L (1 mg/dL is 17.1 umol/L), never falling with age, exchange not below phototherapy",
            path.display()
        )
    );
    let loaded = warehouse.load_texts(&[], &Through::default(), 0);
    assert_eq!(loaded.err().map(|error| error.exit_code()), Some(3));
    let without_risk = ready::AAP_2022
        .lines()
        .filter(|line| !line.starts_with("risk_factors = [\"iso"));
    warehouse.set_protocol(&without_risk.collect::<Vec<_>>().join("\n"));
    assert!(read(&warehouse).unwrap_err().contains("risk: any in every row"));
}

/// As a laboratory that reports mg/dL would write them.
#[test]
fn a_table_in_mg_dl_is_refused() {
    let row = |line: &str| {
        let cells: Vec<&str> = line.split(',').collect();
        let mg_dl = |cell: &str| cell.parse::<f64>().unwrap() / 17.1;
        format!("{},{:.1},{:.1}", cells[..4].join(","), mg_dl(cells[4]), mg_dl(cells[5]))
    };
    let rows: Vec<String> = INVENTED_LINES.lines().skip(1).map(row).collect();
    let said = with_lines(&format!("{HEADER}\n{}\n", rows.join("\n"))).unwrap_err();
    assert!(said.contains("give the values in umol/L, not in mg/dL"), "{said}");
}

/// The line at an age by the pieces that SQL joins with, micro-umol/L.
fn line(protocol: &Protocol, week: i64, risk: &str, age_s: i64) -> Option<(i64, i64)> {
    let pieces = protocol.line_pieces();
    let mut of_line = pieces
        .iter()
        .filter(|p| p.standard == "invented_for_tests" && p.gestation_weeks == week && p.risk == risk);
    let piece = of_line.find(|p| p.age_from_s <= age_s && p.age_to_s.is_none_or(|to| age_s < to))?;
    let Some(to_s) = piece.age_to_s else {
        return Some((piece.phototherapy_micro.0, piece.exchange_micro.0));
    };
    let at = |(from, to): (i64, i64)| from + (to - from) * (age_s - piece.age_from_s) / (to_s - piece.age_from_s);
    Some((at(piece.phototherapy_micro), at(piece.exchange_micro)))
}

#[test]
fn the_line_equals_every_row_and_is_straight_between_them() {
    let protocol = with_lines(INVENTED_LINES).unwrap();
    let mut rows: Vec<(i64, String, i64, i64, i64)> = Vec::new();
    for text in INVENTED_LINES.lines().skip(1) {
        let cells: Vec<&str> = text.split(',').collect();
        let number = |i: usize| cells[i].parse::<i64>().unwrap();
        rows.push((number(1), cells[2].to_owned(), number(3) * 3600, number(4), number(5)));
    }
    assert_eq!(rows.len(), 84);
    for (week, risk, age_s, phototherapy, exchange) in &rows {
        let expected = Some((phototherapy * 1_000_000, exchange * 1_000_000));
        assert_eq!(line(&protocol, *week, risk, *age_s), expected, "{week} {risk} {age_s}");
    }
    for pair in rows
        .windows(2)
        .filter(|pair| (&pair[0].0, &pair[0].1) == (&pair[1].0, &pair[1].1))
    {
        let (from, to) = (&pair[0], &pair[1]);
        let half = ((from.3 + to.3) * 500_000, (from.4 + to.4) * 500_000);
        assert_eq!(line(&protocol, from.0, &from.1, (from.2 + to.2) / 2), Some(half));
    }
}

#[test]
fn the_last_week_serves_older_babies_and_below_the_first_there_is_no_line() {
    let protocol = with_lines(INVENTED_LINES).unwrap();
    for week in 40..=45 {
        assert_eq!(
            line(&protocol, week, "absent", 24 * 3600),
            Some((196_000_000, 291_000_000))
        );
        assert_eq!(
            line(&protocol, week, "present", 500 * 3600),
            Some((328_000_000, 423_000_000))
        );
    }
    assert_eq!(line(&protocol, 34, "absent", 0), None);
    assert_eq!(line(&protocol, 40, "any", 0), None);
}

#[test]
fn cells_that_cannot_be_read_are_refused_by_their_line() {
    refused("", &format!("line 1: the header is '', not\n    {HEADER}"));
    refused(
        &changed("phototherapy_umol_l", "phototherapy"),
        &format!(
            "line 1: the header is 'standard,gestation_weeks,risk,age_h,phototherapy,exchange_umol_l', not\n    {HEADER}"
        ),
    );
    let second = "invented_for_tests,35,absent,12,128,223";
    for (to, why) in [
        (
            "invented_for_test,35,absent,12,128,223",
            "standard 'invented_for_test' is of no version that names this table (did you mean 'invented_for_tests'?)",
        ),
        (
            "elsewhere,35,absent,12,128,223",
            "standard 'elsewhere' is of no version that names this table",
        ),
        ("invented_for_tests,35,absent,12,128", "5 cells instead of 6"),
        ("invented_for_tests,35,absent,12,128,223,", "7 cells instead of 6"),
        (
            "invented_for_tests,35+0,absent,12,128,223",
            "gestation_weeks is not a whole number from 20 to 45",
        ),
        (
            "invented_for_tests,46,absent,12,128,223",
            "gestation_weeks is not a whole number from 20 to 45",
        ),
        (
            "invented_for_tests,35,none,12,128,223",
            "risk 'none' is not any, absent or present",
        ),
        (
            "invented_for_tests,35,absent,half,128,223",
            "age_h 'half' is not a number",
        ),
        ("invented_for_tests,35,absent,-1,128,223", "age_h -1 is not 0 to 672"),
        (
            "invented_for_tests,35,absent,12,nan,223",
            "phototherapy_umol_l nan is not above 0 and no more than 1000",
        ),
        (
            "invented_for_tests,35,absent,12,0,223",
            "phototherapy_umol_l 0 is not above 0 and no more than 1000",
        ),
        (
            "invented_for_tests,35,absent,12,-5,223",
            "phototherapy_umol_l -5 is not above 0 and no more than 1000",
        ),
        (
            "invented_for_tests,35,absent,12,128,inf",
            "exchange_umol_l inf is not above 0 and no more than 1000",
        ),
        (
            "invented_for_tests,35,absent,12,128,",
            "exchange_umol_l '' is not a number",
        ),
    ] {
        refused(&changed(second, to), &format!("line 3: {why}"));
    }
}

#[test]
fn lines_that_cannot_be_are_refused_by_their_row() {
    let second = "invented_for_tests,35,absent,12,128,223";
    let whose = "(gestation 35 weeks, risk absent)";
    refused(
        &changed(second, "invented_for_tests,35,absent,12,128,127.9"),
        "line 3: the exchange line is below the treatment line",
    );
    assert!(with_lines(&changed(second, "invented_for_tests,35,absent,12,128,185")).is_ok());
    refused(
        &changed(second, "invented_for_tests,35,absent,12,89.9,223"),
        &format!("line 3: the treatment line falls with age, from 90 to 89.9 umol/L {whose}"),
    );
    assert!(with_lines(&changed(second, "invented_for_tests,35,absent,12,90,223")).is_ok());
    refused(
        &changed(second, "invented_for_tests,35,absent,12,128,184.9"),
        &format!("line 3: the exchange line falls with age, from 185 to 184.9 umol/L {whose}"),
    );
    refused(
        &changed(second, "invented_for_tests,35,absent,0,128,223"),
        &format!("line 3: age 0 h stands twice, also in line 2 {whose}"),
    );
    assert!(with_lines(&changed(second, "invented_for_tests,35,absent,0.5,128,223")).is_ok());
    refused(
        &changed("invented_for_tests,36,present,0,", "invented_for_tests,36,present,1,"),
        "line 51: the rows of gestation 36 weeks, risk present do not begin at age 0",
    );
}

/// As a spreadsheet sorted by its values would leave them.
#[test]
fn rows_in_another_order_are_refused_and_told_how_to_sort() {
    let sort = "put the rows of each line in the order of age: sort the file by gestation_weeks, risk and age_h";
    let (second, third) = (
        "invented_for_tests,35,absent,12,128,223\n",
        "invented_for_tests,35,absent,24,166,261\n",
    );
    let both = format!("{second}{third}");
    refused_with(
        &changed(&both, &format!("{third}{second}")),
        "line 4: age 12 h stands after 24 h in line 3 (gestation 35 weeks, risk absent)",
        sort,
    );
    let first = "invented_for_tests,35,absent,0,90,185\n";
    refused_with(
        &changed(&format!("{first}{second}"), &format!("{second}{first}")),
        "line 2: the rows of gestation 35 weeks, risk absent do not begin at age 0",
        sort,
    );
    refused_with(
        &changed(first, ""),
        "line 2: the rows of gestation 35 weeks, risk absent do not begin at age 0",
        "add the row of age 0",
    );
    // In which order whole lines stand does not matter.
    let (header, rows) = INVENTED_LINES.split_once('\n').unwrap();
    let (of_35, others): (Vec<&str>, Vec<&str>) = rows.lines().partition(|line| line.contains(",35,"));
    let text = format!("{header}\n{}\n{}\n", others.join("\n"), of_35.join("\n"));
    assert!(with_lines(&text).is_ok());
}

#[test]
fn a_refused_table_says_what_to_do() {
    let semicolons = INVENTED_LINES.replace(',', ";");
    let said = with_lines(&semicolons).unwrap_err();
    assert!(
        said.ends_with("to do: separate the columns by commas, and write decimals with a point"),
        "{said}"
    );
    let second = "invented_for_tests,35,absent,12,128,223";
    for (to, to_do) in [
        (
            "elsewhere,35,absent,12,128,223",
            "write it as the versions do in [version.line]: invented_for_tests",
        ),
        (
            "invented_for_tests,35,absent,12,128,5,223",
            "write six cells separated by commas, and decimals with a point (128.5)",
        ),
        (
            "invented_for_tests,35+0,absent,12,128,223",
            "write completed weeks without days, such as 38",
        ),
        (
            "invented_for_tests,35,absent,12,0,223",
            "write the line in umol/L (1 mg/dL is 17.1 umol/L)",
        ),
    ] {
        let said = with_lines(&changed(second, to)).unwrap_err();
        assert!(said.ends_with(&format!("\n  to do: {to_do}")), "{said}");
    }
}

fn without(is_out: impl Fn(&str) -> bool) -> String {
    let lines: Vec<&str> = INVENTED_LINES.lines().filter(|line| !is_out(line)).collect();
    lines.join("\n")
}

#[test]
fn a_table_that_is_not_complete_is_refused() {
    refused(HEADER, "it has no row of standard 'invented_for_tests'");
    refused(
        &without(|line| line.contains(",38,")),
        "gestation 38 weeks is missing, between 35 and 40",
    );
    refused(
        &without(|line| line.contains(",38,present,")),
        "at gestation 38 weeks the rows with risk present are missing",
    );
    refused(
        &without(|line| line.contains(",absent,")),
        "at gestation 35 weeks the rows with risk absent are missing",
    );
    refused(
        &changed("invented_for_tests,35,absent,0,", "invented_for_tests,35,any,0,"),
        "it mixes risk any with absent or present",
    );
    assert!(with_lines(&without(|line| line.contains(",35,"))).is_ok());
    assert!(with_lines(&without(|line| line.contains(",40,"))).is_ok());
}

#[test]
fn risks_of_table_and_version_go_together() {
    let any = without(|line| line.contains(",present,")).replace(",absent,", ",any,");
    refused(
        &any,
        "line.risk_factors of version 'AAP 2022 manner' says what is a risk, but the table has lines for risk any only",
    );
    let without_risk = aap_protocol().replacen("\nrisk_factors = [\"iso", "\n# risk_factors = [\"iso", 1);
    let warehouse = TestWarehouse::with_protocol(&without_risk);
    warehouse.set_lines(INVENTED_LINES);
    let said = read(&warehouse).unwrap_err();
    assert!(
        said.contains("but line.risk_factors of version 'AAP 2022 manner' does not say what is a risk"),
        "{said}"
    );
    warehouse.set_lines(&any);
    let protocol = read(&warehouse).unwrap();
    assert_eq!(line(&protocol, 35, "any", 0), Some((90_000_000, 185_000_000)));
}

#[test]
fn marks_spaces_and_empty_lines_of_spreadsheets_do_no_harm() {
    let text = format!(
        "\u{feff}{}\r\n\r\n",
        INVENTED_LINES.replace('\n', "\r\n").replace(",35,", ", 35 ,")
    );
    let protocol = with_lines(&text).unwrap();
    let plain = with_lines(INVENTED_LINES).unwrap().line_pieces();
    assert_eq!(protocol.line_pieces(), plain);
    // R quotes texts and names of columns.
    let quoted = INVENTED_LINES
        .replacen(HEADER, &format!("\"{}\"", HEADER.replace(',', "\",\"")), 1)
        .replace("invented_for_tests", "\"invented_for_tests\"")
        .replace(",absent,", ",\"absent\",");
    assert_eq!(with_lines(&quoted).unwrap().line_pieces(), plain);
}

#[test]
fn two_versions_may_share_a_file_that_holds_both_standards() {
    let aap = aap_protocol();
    let later = aap[aap.find("[[version]]").unwrap()..]
        .replacen("AAP 2022 manner", "later", 1)
        .replacen("2026-01-01", "2026-07-01", 1)
        .replacen("\"invented_for_tests\"", "\"second\"", 1);
    let warehouse = TestWarehouse::with_protocol(&format!("{aap}\n{later}"));
    warehouse.set_lines(INVENTED_LINES);
    let said = read(&warehouse).unwrap_err();
    assert!(said.contains("it has no row of standard 'second'"), "{said}");
    let rows = INVENTED_LINES
        .lines()
        .skip(1)
        .map(|line| line.replace("invented_for_tests", "second"));
    let both = format!("{INVENTED_LINES}{}\n", rows.collect::<Vec<_>>().join("\n"));
    warehouse.set_lines(&both);
    let pieces = read(&warehouse).unwrap().line_pieces();
    let of = |standard: &str| pieces.iter().filter(|p| p.standard == standard).count();
    assert_eq!(of("second"), of("invented_for_tests"));
    assert!(of("second") > 0);
}

const BIRTHS: &str = "infant_id,mother_id,born_at,gestation,birth_weight_g,sex,plurality,birth_order,unit,feeding,risk_factors,skin_tone,ethnicity
b1,m1,2026-02-01T08:00,38+0,,,,,harbour,,,,
";

#[test]
fn a_changed_table_derives_anew_and_an_earlier_load_needs_none() {
    let warehouse = TestWarehouse::aap();
    let through: Through = Through::default();
    warehouse
        .load_texts(&[("births.csv", BIRTHS)], &through, 1_775_000_000)
        .unwrap();
    let newest = || warehouse.warehouse().newest().unwrap().manifest().load;
    let line_at_birth = || {
        let sql = "select phototherapy_from_micro as line from protocol_lines
            where standard = 'invented_for_tests' and gestation_weeks = 38 and risk = 'absent' and age_from_s = 0";
        warehouse.rows(sql)[0]["line"].clone()
    };
    assert_eq!(newest(), 1);
    assert_eq!(line_at_birth(), "108000000");
    warehouse.measure("2026-02");
    assert_eq!(newest(), 1);
    warehouse.set_lines(&changed(
        "invented_for_tests,38,absent,0,108,",
        "invented_for_tests,38,absent,0,109,",
    ));
    warehouse.measure("2026-02");
    assert_eq!(newest(), 2);
    assert_eq!(line_at_birth(), "109000000");
    std::fs::remove_file(warehouse.path().join("lines.csv")).unwrap();
    let path = warehouse.path().to_str().unwrap();
    let measure = |more: &[&str]| {
        let arguments = [&["measure", "--warehouse", path, "--month", "2026-02"], more].concat();
        crate::commands::siskin(&arguments)
    };
    assert!(measure(&["--as-of", "1"]).status.success());
    let refused = measure(&[]);
    assert_eq!(refused.status.code(), Some(3));
    assert!(crate::commands::text(&refused.stderr).contains("lines.csv is not there"));
}
