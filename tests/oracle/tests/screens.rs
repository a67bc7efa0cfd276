//! Screens outside limits and failed specimens at their edges.

use super::*;

/// What a screen is flagged for, with `-` and the reason what it is left out of.
fn flags(age_s: i64, gestation: &'static str, cells: &str) -> Vec<String> {
    flags_of(
        Case {
            gestation,
            ..Case::default()
        },
        age_s,
        cells,
    )
}

fn flags_of(case: Case, age_s: i64, cells: &str) -> Vec<String> {
    let header = "screen_id,infant_id,measured_at,value,unit_of_measure,body_site,readings,id_entry,setting,unit\n";
    let case = Case {
        more: vec![("screens", format!("{header}x,b,{},90,umol/L,{cells},dale\n", at(age_s)))],
        ..case
    };
    let all = case.network().figures("2026-07");
    let row = |flag: &str| {
        let measure = format!("screens_outside_limits{flag}");
        let mut rows = all.iter();
        rows.find(|row| row.measure == measure && row.group == "dale")
            .expect("a row of the unit")
    };
    let names = [
        "_gestation_below_limit",
        "_age_below_limit",
        "_outpatient_14_days",
        "_outpatient_not_sternum",
        "_few_readings",
        "_typed_identity",
        "_after_phototherapy",
    ];
    let mut found = Vec::new();
    for flag in names {
        let row = row(flag);
        if row.numerator == Some(1) {
            found.push(flag.to_string());
        }
        found.extend(row.left_out.keys().map(|reason| format!("{flag}-{reason}")));
    }
    let any = row("");
    assert_eq!(any.denominator, Some(1));
    assert_eq!(any.numerator == Some(1), found.iter().any(|flag| !flag.contains('-')));
    found
}

#[test]
fn flags_at_their_edges() {
    let none: Vec<&str> = vec![];
    let well = "sternum,2,scanned,inpatient";
    assert_eq!(flags(24 * H, "35", well), ["_age_below_limit"]);
    assert_eq!(flags(24 * H + 1, "35", well), none);
    assert_eq!(flags(50 * H, "34+6", well), ["_gestation_below_limit"]);
    assert_eq!(flags(336 * H - 1, "", "sternum,2,scanned,outpatient"), none);
    assert_eq!(
        flags(336 * H, "", "sternum,2,scanned,outpatient"),
        ["_outpatient_14_days"]
    );
    assert_eq!(flags(336 * H, "", "forehead,2,scanned,inpatient"), none);
    assert_eq!(
        flags(50 * H, "", "forehead,2,scanned,Outpatient"),
        ["_outpatient_not_sternum"]
    );
    assert_eq!(
        flags(50 * H, "", "forehead,1,Typed,home"),
        ["_few_readings", "_typed_identity"]
    );
    let after = |age_s: i64| {
        let case = Case {
            courses: vec![(30 * H, Some(60 * H))],
            ..Case::default()
        };
        flags_of(case, age_s, well)
    };
    assert_eq!(after(30 * H - 1), none);
    assert_eq!(after(30 * H), ["_after_phototherapy"]);
    assert_eq!(after(84 * H - 1), ["_after_phototherapy"]);
    assert_eq!(after(84 * H), none);
}

#[test]
fn an_empty_cell_leaves_out_of_the_flag_that_it_decides() {
    let not_recorded = |flag: &str| format!("{flag}-not_recorded");
    let (age, site) = ("_outpatient_14_days", "_outpatient_not_sternum");
    assert_eq!(
        flags(50 * H, "", "forehead,,,inpatient"),
        [not_recorded("_few_readings"), not_recorded("_typed_identity")]
    );
    // The setting is empty: a known site or age may settle it.
    assert_eq!(flags(50 * H, "", "forehead,2,scanned,"), [not_recorded(site)]);
    assert_eq!(flags(336 * H, "", "sternum,2,scanned,"), [not_recorded(age)]);
    assert_eq!(flags(336 * H - 1, "", "sternum,2,scanned,"), Vec::<String>::new());
    assert_eq!(
        flags(336 * H, "", ",2,scanned,"),
        [not_recorded(age), not_recorded(site)]
    );
    assert_eq!(flags(50 * H, "", ",2,scanned,outpatient"), [not_recorded(site)]);
    assert_eq!(flags(50 * H, "", ",2,scanned,home"), Vec::<String>::new());
    let by_date = |cells: &str| {
        let case = Case {
            by_date_only: true,
            ..Case::default()
        };
        flags_of(case, 400 * H, cells)
    };
    let unknown_age = "_age_below_limit-birth_time_unknown".to_string();
    assert_eq!(
        by_date("sternum,2,scanned,inpatient"),
        std::slice::from_ref(&unknown_age)
    );
    assert_eq!(
        by_date("sternum,2,scanned,outpatient"),
        [unknown_age, not_recorded(age)]
    );
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
    assert_eq!(delay.left_out["pending"], 1);
}

/// Whether a specimen that failed at 30 h was redrawn, and why it is left out.
fn delay(
    stays: &[(i64, Option<i64>, &'static str, &'static str, &'static str)],
    drawn_s: i64,
) -> (Option<u64>, String) {
    let header = "specimen_id,infant_id,collected_at,value,unit_of_measure,analyte,specimen,status,unit\n";
    let case = Case {
        serums: vec![(drawn_s, "100")],
        stays: stays.to_vec(),
        more: vec![(
            "serum",
            format!("{header}a,b,{},,umol/L,total,,cancelled,dale\n", at(30 * H)),
        )],
        ..Case::default()
    };
    let all = case.network().figures("2026-07");
    let row = all
        .iter()
        .find(|row| row.measure == "specimen_delay_median" && row.group == "dale");
    let row = row.expect("a row of the unit");
    let reasons: Vec<&str> = row.left_out.keys().map(String::as_str).collect();
    (row.numerator, reasons.join(" "))
}

#[test]
fn who_leaves_before_the_next_valid_serum_is_not_redrawn() {
    let none = String::new;
    // In the same second the serum comes first; later it is too late.
    for (disposition, ends, expected) in [
        ("home", 33 * H, (Some(1), none())),
        ("home", 33 * H - 1, (Some(0), none())),
        ("died", 33 * H - 1, (Some(0), none())),
        ("transfer", 33 * H - 1, (Some(0), none())),
        ("", 33 * H - 1, (Some(0), "disposition_unknown".to_string())),
        ("", 33 * H, (Some(1), none())),
    ] {
        let stay = (0, Some(ends), "birth", disposition, "");
        assert_eq!(delay(&[stay], 33 * H), expected, "{disposition} {ends}");
    }
    assert_eq!(delay(&[], 54 * H), (Some(1), none()));
    assert_eq!(delay(&[], 54 * H + 1), (Some(0), none()));
    // Back by 24 h after the specimen.
    for (disposition, back, expected) in [
        ("transfer", 54 * H, (Some(0), none())),
        ("transfer", 50 * H, (Some(1), none())),
        ("", 54 * H, (Some(0), none())),
        ("", 54 * H + 1, (Some(0), "disposition_unknown".to_string())),
        ("", 50 * H, (Some(1), none())),
        ("home", 50 * H, (Some(0), none())),
    ] {
        let stays = [
            (0, Some(31 * H), "birth", disposition, ""),
            (back, None, "home", "", ""),
        ];
        let drawn = if back == 50 * H { 52 * H } else { 55 * H };
        assert_eq!(delay(&stays, drawn), expected, "{disposition} {back}");
    }
}
