//! `siskin check` on protocols, and `siskin describe --protocol`.

use std::path::Path;

use siskin::protocol::ready;

use crate::commands::{demo, siskin, text};
use crate::harness::{INVENTED_LINES, PROTOCOL, TestWarehouse};

/// Exit code, standard output and standard error of `check`.
fn check(warehouse: &Path) -> (Option<i32>, String, String) {
    let out = siskin(&["check", "--warehouse", warehouse.to_str().unwrap()]);
    (out.status.code(), text(&out.stdout), text(&out.stderr))
}

#[test]
fn a_protocol_is_explained_before_anything_is_loaded() {
    let warehouse = TestWarehouse::with_protocol(ready::NICE_CG98);
    let (code, out, err) = check(warehouse.path());
    assert_eq!(code, Some(0), "{err}");
    assert!(out.starts_with(include_str!("../protocols/nice_cg98.txt")), "{out}");
    assert!(out.contains("in order   protocol.toml can be read\n"), "{out}");
    assert!(out.contains("nothing has been loaded yet"), "{out}");
    let as_of = siskin(&[
        "check",
        "--warehouse",
        warehouse.path().to_str().unwrap(),
        "--as-of",
        "1",
    ]);
    assert_eq!(as_of.status.code(), Some(3));
}

#[test]
fn a_protocol_is_explained_beside_the_snapshot() {
    let (code, out, err) = check(&demo().warehouse());
    assert_eq!(code, Some(0), "{err}");
    assert!(out.starts_with("Protocol of Fieldfare network (invented)\n"), "{out}");
    assert!(out.contains("the snapshot was derived by it"), "{out}");
    assert!(out.ends_with("everything is in order\n"), "{out}");
}

#[test]
fn a_refused_protocol_is_a_fault_that_says_why() {
    let warehouse = TestWarehouse::with_protocol(&PROTOCOL.replacen("age_from_h", "age_form_h", 1));
    let (code, out, err) = check(warehouse.path());
    assert_eq!(code, Some(1));
    assert!(out.contains("FAULT      protocol.toml can be read"), "{out}");
    assert!(out.contains("did you mean 'age_from_h'?"), "{out}");
    assert!(err.contains("one thing is not in order"), "{err}");
    assert!(err.contains("to do: mend protocol.toml"), "{err}");
}

/// A clinician can read the rest before anybody has typed the lines.
#[test]
fn a_protocol_is_explained_without_its_table_of_lines() {
    let warehouse = TestWarehouse::with_protocol(ready::AAP_2022);
    let (code, out, err) = check(warehouse.path());
    assert_eq!(code, Some(1));
    assert!(out.starts_with(include_str!("../protocols/aap_2022.txt")), "{out}");
    for told in [
        "  FAULT      the table of lines is there and complete: nothing is loaded or measured without it\n",
        "aap_2022_lines.csv is not there\n",
        "siskin does not hold the published values of 'aap_2022'",
        "header: standard,gestation_weeks,risk,age_h,phototherapy_umol_l,exchange_umol_l\n",
        "  in order   nothing in protocol.toml looks like a slip\n",
    ] {
        assert!(out.contains(told), "{told}: {out}");
    }
    assert!(
        err.contains("to do: mend protocol.toml, or its table of lines"),
        "{err}"
    );
    let aap = TestWarehouse::aap();
    aap.set_lines(&INVENTED_LINES.replacen(",12,128,", ",12,28,", 1));
    let (code, out, _) = check(aap.path());
    assert_eq!(code, Some(1));
    assert!(out.contains("Recheck discharge_gap: after"), "{out}");
    assert!(
        out.contains("the treatment line falls with age, from 90 to 28 umol/L"),
        "{out}"
    );
}

#[test]
fn a_doubt_is_a_fault() {
    let warehouse = TestWarehouse::with_protocol(&PROTOCOL.replacen("umol_l = 250", "umol_l = 25", 1));
    let (code, out, err) = check(warehouse.path());
    assert_eq!(code, Some(1));
    assert!(
        out.contains("FAULT      nothing in protocol.toml looks like a slip"),
        "{out}"
    );
    assert!(out.contains("25 umol/L is a very low limit"), "{out}");
    assert!(err.contains("to do: mend protocol.toml"), "{err}");
}

#[test]
fn audiences_and_targets_name_what_is_measured() {
    let with = |committee: &str, figure: &str| {
        let is_higher_better = ["recheck_adherence_rebound", "referral_in_time"].contains(&figure);
        let key = if is_higher_better {
            "at_least_percent"
        } else {
            "at_most_percent"
        };
        let target = format!("\n[[version.targets]]\nfigure = \"{figure}\"\n{key} = 2\nsource = \"local\"\n");
        let audience = format!("[audiences]\ncommittee = [\"{committee}\"]\n\n[plausible]");
        TestWarehouse::with_protocol(&(PROTOCOL.replacen("[plausible]", &audience, 1) + &target))
    };
    for (committee, figure) in [
        ("missed_referral", "missed_referral"),
        ("recheck_adherence", "recheck_adherence_rebound"),
        ("jaundice_readmission", "jaundice_readmission_28d"),
        ("record_quality", "referral_in_time"),
    ] {
        let (code, out, _) = check(with(committee, figure).path());
        assert_eq!(code, Some(0), "{out}");
    }
    let (code, out, _) = check(with("missed_referral", "time_to_serum_median").path());
    assert_eq!(code, Some(1));
    assert!(out.contains("is a percentage, but the figure is none"), "{out}");
    let (code, out, _) = check(with("missed_referrals", "missed_referral").path());
    assert_eq!(code, Some(1));
    assert!(
        out.contains("audiences.committee has 'missed_referrals', which is no measure"),
        "{out}"
    );
    for figure in [
        "recheck_adherence",
        "recheck_adherence_none",
        "jaundice_readmission_29d",
    ] {
        let (code, out, _) = check(with("missed_referral", figure).path());
        assert_eq!(code, Some(1), "{out}");
        assert!(
            out.contains(&format!("there is no figure '{figure}' to set a target for")),
            "{out}"
        );
    }
}

/// The protocol with a target for each figure.
fn with_targets(protocol: &str, key: &str, figures: &[&str]) -> TestWarehouse {
    let target =
        |figure: &&str| format!("\n[[version.targets]]\nfigure = \"{figure}\"\n{key} = 90\nsource = \"local\"\n");
    let targets: String = figures.iter().map(target).collect();
    TestWarehouse::with_protocol(&(protocol.to_owned() + &targets))
}

/// As the trade sees it, by hand: of these figures more is better, and of those less.
#[test]
fn a_target_is_wanted_the_way_that_is_better() {
    let higher = [
        "screening_coverage",
        "referral_in_time",
        "time_to_serum_6h",
        "time_to_treatment",
        "recheck_adherence_rebound",
        "meter_checks",
        "record_quality_feeding",
    ];
    let lower = [
        "missed_referral",
        "untreated_6h",
        "untreated_24h",
        "never_treated",
        "treatment_below_line",
        "jaundice_readmission_28d",
        "dangerous_miss",
        "unverified_readings",
        "screens_outside_limits_few_readings",
        "failed_specimens",
    ];
    for (figures, fitting, other) in [
        (&higher[..], "at_least_percent", "at_most_percent"),
        (&lower[..], "at_most_percent", "at_least_percent"),
    ] {
        let (code, out, _) = check(with_targets(PROTOCOL, fitting, figures).path());
        assert_eq!(code, Some(0), "{out}");
        let (code, out, _) = check(with_targets(PROTOCOL, other, figures).path());
        assert_eq!(code, Some(1), "{out}");
        for figure in figures {
            assert!(
                out.contains(&format!("the target for '{figure}' has {other}")),
                "{figure}: {out}"
            );
        }
        assert_eq!(
            out.matches(&format!("was {fitting} meant?")).count(),
            figures.len(),
            "{out}"
        );
    }
}

#[test]
fn a_target_of_coverage_needs_coverage() {
    let coverage = &PROTOCOL[PROTOCOL.find("[version.coverage]").unwrap()..PROTOCOL.find("[version.meter]").unwrap()];
    let without = PROTOCOL.replacen(coverage, "", 1);
    let (code, out, _) = check(with_targets(&without, "at_least_percent", &["screening_coverage"]).path());
    assert_eq!(code, Some(1));
    assert!(
        out.contains("a target for 'screening_coverage', but no [version.coverage]"),
        "{out}"
    );
}

/// A rule that an earlier version had gives no figure of a later one.
#[test]
fn a_target_is_of_a_figure_of_its_own_version() {
    let version = PROTOCOL[PROTOCOL.find("[[version]]").unwrap()..]
        .replacen("manner, 2026", "manner, later", 1)
        .replacen("2026-01-01", "2026-07-01", 1)
        .replacen("rule = \"rebound\"", "rule = \"after_light\"", 1);
    let both = format!("{PROTOCOL}\n{version}");
    let rebound = ["recheck_adherence_rebound"];
    let (_, out, _) = check(with_targets(&both, "at_least_percent", &rebound).path());
    let why = "version 'NICE CG98 manner, later': there is no figure 'recheck_adherence_rebound'";
    assert!(out.contains(why), "{out}");
}

#[test]
fn ready_protocols_are_printed_as_they_are() {
    for (name, ready) in ready::ALL {
        let out = siskin(&["describe", "--protocol", name]);
        assert!(out.status.success());
        assert_eq!(text(&out.stdout), ready);
    }
    assert_eq!(siskin(&["describe", "--protocol", "nobodys"]).status.code(), Some(2));
    assert_eq!(
        siskin(&["describe", "--protocol", "nice_cg98", "screens"])
            .status
            .code(),
        Some(2)
    );
}

/// A network in the NICE manner can be invented by lines of the site's own, where risk does not
/// choose between them; the simulated nurses know no others.
#[test]
fn extracts_are_invented_by_lines_of_the_site() {
    let own = PROTOCOL.replacen(
        "standard = \"nice_cg98\"",
        "standard = \"invented_for_tests\"\ntable = \"lines.csv\"",
        1,
    );
    let invent = |protocol: &str, lines: &str| {
        let warehouse = TestWarehouse::with_protocol(protocol);
        warehouse.set_lines(lines);
        let path = |name: &str| warehouse.path().join(name).to_str().unwrap().to_owned();
        let out = siskin(&[
            "invent",
            "--births-per-month",
            "20",
            "--months",
            "1",
            "--seed",
            "1",
            "--protocol",
            &path("protocol.toml"),
            "--out",
            &path("out"),
        ]);
        (out.status.code(), text(&out.stderr))
    };
    let without_risk: Vec<&str> = INVENTED_LINES
        .lines()
        .filter(|line| !line.contains(",present,"))
        .collect();
    let (code, err) = invent(&own, &without_risk.join("\n").replace(",absent,", ",any,"));
    assert_eq!(code, Some(0), "{err}");
    let with_risk = own.replacen("table =", "risk_factors = [\"g6pd\"]\ntable =", 1);
    let (code, err) = invent(&with_risk, INVENTED_LINES);
    assert_eq!(code, Some(3));
    assert!(err.contains("are not the same with and without risk"), "{err}");
}
