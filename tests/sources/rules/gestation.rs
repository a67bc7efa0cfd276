//! How gestation is read.

use siskin::extracts::reason::Reason;
use siskin::extracts::record::Fault;

use super::{births, records};

fn gestation(cell: &str) -> Result<String, Fault> {
    let all = records(&births("gestation = \"ga\""), format!("baby|ga\n1|{cell}\n").as_bytes());
    let row = &all[0].rows[0];
    row.fault
        .clone()
        .map_or_else(|| Ok(row.value("gestation").to_owned()), Err)
}

#[test]
fn gestation_is_read_in_the_notations_of_the_wards() {
    for (cell, said) in [
        ("35+4", "35+4"),
        ("35 + 4", "35+4"),
        ("35w4d", "35+4"),
        ("35W 4D", "35+4"),
        ("35 weeks 4 days", "35+4"),
        ("35 4/7", "35+4"),
        ("35+4/7", "35+4"),
        ("35w 4/7", "35+4"),
        ("35w", "35"),
        ("35 weeks", "35"),
        ("35", "35"),
        ("249 d", "35+4"), // 35 x 7 + 4
        ("249days", "35+4"),
        ("35+0", "35+0"),
        ("", ""),
    ] {
        assert_eq!(gestation(cell).as_deref(), Ok(said), "{cell}");
    }
}

#[test]
fn gestation_that_can_be_read_in_two_ways_is_set_aside() {
    for cell in [
        "35.4",
        "35,4",
        "249",
        "4/7",
        "35+7",
        "35 7/7",
        "35w7d",
        "35-4",
        "354/7",
        "35+4+1",
        "35 4",
        "35 4/10",
        "-35",
        "abc",
        "35. SSW",
        "99999999999",
    ] {
        let fault = gestation(cell).expect_err(cell);
        assert_eq!((fault.kind, fault.cell.as_str()), (Reason::UnreadableGestation, cell));
        assert!(fault.remedy.unwrap().contains("write"), "{cell}");
    }
}

#[test]
fn weeks_and_days_of_two_columns_are_one_gestation() {
    let mapping = births("gestation = { weeks = \"w\", days = \"d\" }");
    let all = records(
        &mapping,
        b"baby|w|d\n1|35|4\n2|35|\n3||\n4||4\n5|35|7\n6|35.4|\n7|249|\n8|35|0\n",
    );
    let said: Vec<Option<&str>> = all
        .iter()
        .map(|record| {
            record.rows[0]
                .fault
                .is_none()
                .then(|| record.rows[0].value("gestation"))
        })
        .collect();
    assert_eq!(
        said,
        [Some("35+4"), Some("35"), Some(""), None, None, None, None, Some("35+0")]
    );
}
