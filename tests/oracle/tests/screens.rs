//! Screens outside limits and failed specimens at their edges.

use super::*;

fn flags(age_s: i64, gestation: &'static str, cells: &str) -> Vec<&'static str> {
    let header = "screen_id,infant_id,measured_at,value,unit_of_measure,body_site,readings,id_entry,setting,unit\n";
    let case = Case {
        gestation,
        more: vec![("screens", format!("{header}x,b,{},90,umol/L,{cells},dale\n", at(age_s)))],
        ..Case::default()
    };
    let all = case.network().figures("2026-07");
    let raised = |flag: &str| {
        let measure = format!("screens_outside_limits{flag}");
        let mut rows = all.iter();
        let row = rows.find(|row| row.measure == measure && row.group == "dale");
        row.is_some_and(|row| row.numerator == Some(1))
    };
    let names = [
        "_gestation_below_limit",
        "_age_below_limit",
        "_outpatient_14_days",
        "_outpatient_not_sternum",
        "_few_readings",
        "_typed_identity",
    ];
    let found: Vec<&str> = names.into_iter().filter(|flag| raised(flag)).collect();
    assert_eq!(raised(""), !found.is_empty());
    found
}

#[test]
fn flags_at_their_edges() {
    let none: Vec<&str> = vec![];
    assert_eq!(flags(24 * H, "35", ",,,"), ["_age_below_limit"]);
    assert_eq!(flags(24 * H + 1, "35", ",,,"), none);
    assert_eq!(flags(50 * H, "34+6", ",,,"), ["_gestation_below_limit"]);
    assert_eq!(flags(336 * H - 1, "", "sternum,2,scanned,outpatient"), none);
    assert_eq!(
        flags(336 * H, "", "sternum,2,scanned,outpatient"),
        ["_outpatient_14_days"]
    );
    assert_eq!(flags(336 * H, "", "forehead,2,scanned,inpatient"), none);
    assert_eq!(flags(50 * H, "", "forehead,,,Outpatient"), ["_outpatient_not_sternum"]);
    assert_eq!(flags(50 * H, "", ",1,Typed,home"), ["_few_readings", "_typed_identity"]);
}

#[test]
fn specimens_fail_by_their_last_version_and_pending_ones_are_left_out() {
    let header = "specimen_id,infant_id,collected_at,value,unit_of_measure,analyte,specimen,status,unit\n";
    let row = |id: &str, age_s: i64, value: &str, analyte: &str, status: &str| {
        format!("{id},b,{},{value},umol/L,{analyte},,{status},dale\n", at(age_s))
    };
    let rows = [
        row("a", 30 * H, "haemolysed", "total", "final"),
        row("b", 30 * H, "150", "total", "cancelled"),
        row("c", 40 * H, "150", "total", "final"),
        row("c", 40 * H, "", "total", "corrected"),
        row("d", 31 * H, "150", "total", "final"),
        row("e", 33 * H, "150", "total", "preliminary"),
        row("f", 33 * H, "", "direct", "final"),
        row("g", 70 * H, "insufficient", "total", "final"),
    ];
    let case = Case {
        serums: vec![(45 * H, "100")],
        more: vec![("serum", header.to_string() + &rows.concat())],
        ..Case::default()
    };
    let all = case.network().figures("2026-07");
    let of_dale = |measure: &str| {
        let mut rows = all.iter();
        let row = rows.find(|row| row.measure == measure && row.group == "dale");
        row.expect("a row of the unit").clone()
    };
    let failed = of_dale("failed_specimens");
    assert_eq!((failed.numerator, failed.denominator), (Some(4), Some(5)));
    assert_eq!(failed.left_out["pending"], 1);
    // 1 h, 1 h, 5 h and none.
    let delay = of_dale("specimen_delay_median");
    assert_eq!((delay.numerator, delay.denominator), (Some(3), Some(4)));
    assert_eq!(delay.value, Some(1.0));
}
