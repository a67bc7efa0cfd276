//! A load settles and derives what it changes, and no more; what comes of it is what
//! settling and deriving everything gives, byte for byte, also when tables are settled in slices.

use std::collections::BTreeMap;
use std::os::unix::fs::MetadataExt;

use arrow::array::RecordBatch;
use arrow::compute::{SortOptions, concat_batches};
use arrow::row::{RowConverter, SortField};

use oracle::Load;
use siskin::intake::settle::Through;
use siskin::queries::catalogue;
use siskin::warehouse::digest::fnv;
use siskin::warehouse::{TableEntry, read_stored};

use crate::harness::TestWarehouse;
use crate::random;

/// A load of merges, among them a chain, an un-merge, and one of a baby nobody knows.
fn merges(at: i64, rows: &str) -> Load {
    let text = format!("from_infant_id,into_infant_id,merged_at,record_status\n{rows}");
    Load {
        at,
        files: vec![("merges".to_owned(), text)],
        through: Vec::new(),
    }
}

fn tables(warehouse: &TestWarehouse) -> BTreeMap<String, TableEntry> {
    warehouse.warehouse().newest().unwrap().manifest().tables.clone()
}

/// Loads the same into two warehouses, one of which settles and derives everything each time.
fn same_bytes(seed: u64, babies: usize) {
    let mut loads = random::extracts(seed, babies);
    let last = loads.last().map_or(0, |load| load.at);
    loads.push(merges(
        last + 60,
        "i3,i4,2026-03-01T10:00,\ni4,i5,2026-03-01T10:00,\ni7,i8,2026-03-02T10:00,\nnobody,i9,2026-03-02T10:00,\n",
    ));
    loads.push(merges(
        last + 120,
        "i7,i8,2026-03-02T10:00,withdrawn\ni10,i11,2026-03-02T10:00,\n",
    ));
    let mut ours = TestWarehouse::new();
    if seed.is_multiple_of(2) {
        // About three slices of the larger tables, and two portions of babies.
        ours.slice_rows = babies as u64;
    }
    let mut whole = TestWarehouse::new();
    whole.is_whole = true;
    let folder = tempfile::tempdir().unwrap();
    for (number, load) in loads.iter().enumerate() {
        // The same paths for both, as they are stored with each row.
        for warehouse in [&ours, &whole] {
            crate::oracle_equality::load_from(warehouse, folder.path(), load);
        }
        let (ours, whole) = (tables(&ours), tables(&whole));
        assert_eq!(ours.keys().collect::<Vec<_>>(), whole.keys().collect::<Vec<_>>());
        for (name, table) in &whole {
            assert_eq!(
                ours[name].files, table.files,
                "seed {seed}, load {number}: {name} differs from settling everything"
            );
        }
    }
}

#[test]
fn a_load_of_changes_gives_the_bytes_of_settling_everything() {
    // One settled in slices, one whole.
    for seed in 0..2 {
        same_bytes(seed, 60);
    }
}

#[test]
#[ignore = "takes long; see tests/README.md"]
fn many_loads_of_changes_give_the_bytes_of_settling_everything() {
    for seed in 100..140 {
        same_bytes(seed, 150);
    }
}

const BIRTHS: &str = "infant_id,mother_id,born_at,gestation,birth_weight_g,sex,plurality,birth_order,unit,feeding,risk_factors,skin_tone,ethnicity\n";
const SCREENS: &str = "screen_id,infant_id,measured_at,value,unit_of_measure,body_site,readings,meter_id,operator_id,id_entry,setting,unit\n";

/// Six babies, and one screen in each of six months, all complete through the end of June.
fn half_a_year(warehouse: &TestWarehouse) {
    let (mut births, mut screens) = (BIRTHS.to_owned(), SCREENS.to_owned());
    for month in 1..=6 {
        births.push_str(&format!("b{month},m{month},2026-01-0{month}T08:00,39+0,,,,,u1,,,,\n"));
        screens.push_str(&format!(
            "s{month},b{month},2026-0{month}-15T08:00,200,umol/L,,,,,,,u1\n"
        ));
    }
    let through = Through {
        all: Some(1_782_860_400), // 2026-07-01 00:00 in London
        ..Through::default()
    };
    let files = [("births.csv", births.as_str()), ("screens.csv", screens.as_str())];
    warehouse.load_texts(&files, &through, 1_782_860_400).unwrap();
}

/// The inode of each month's file of a table: a file that was taken over is the same one.
fn inodes(warehouse: &TestWarehouse, table: &str) -> BTreeMap<String, u64> {
    let snapshot = warehouse.warehouse().newest().unwrap();
    let files = &snapshot.manifest().tables[table].files;
    let inode = |path: &str| std::fs::metadata(snapshot.path().join(path)).unwrap().ino();
    files
        .iter()
        .map(|file| (file.month().unwrap().to_owned(), inode(&file.path)))
        .collect()
}

/// A reading that was refused in one month and comes again, mended, in another was never taken in
/// the first: the days of meters of that month are counted anew, although no baby has a row in it.
#[test]
fn a_refused_reading_that_comes_again_elsewhere_leaves_its_month() {
    let through = Through {
        all: Some(1_782_860_400), // 2026-07-01 00:00 in London
        ..Through::default()
    };
    let screen = |at: &str, value: &str| format!("{SCREENS}s1,b1,{at},{value},umol/L,,,M1,,,,u1\n");
    let checks = "check_id,meter_id,checked_at,outcome,unit\nc1,M1,2026-02-15T06:00,pass,u1\n";
    let births = format!("{BIRTHS}b1,m1,2026-05-01T08:00,39+0,,,,,u1,,,,\n");
    let mut ours = TestWarehouse::new();
    let mut whole = TestWarehouse::new();
    whole.is_whole = true;
    ours.is_whole = false;
    for warehouse in [&ours, &whole] {
        let refused = screen("2026-02-15T08:00", "2000");
        let files = [
            ("births.csv", births.as_str()),
            ("screens.csv", refused.as_str()),
            ("meter_checks.csv", checks),
        ];
        warehouse.load_texts(&files, &through, 1_782_860_400).unwrap();
        let in_february = warehouse.rows("select name from cases where figure = 'unverified_readings'");
        assert_eq!(in_february.len(), 1);
        let mended = screen("2026-05-15T08:00", "200");
        warehouse
            .load_texts(&[("screens.csv", mended.as_str())], &through, 1_782_860_401)
            .unwrap();
        let months = warehouse.rows("select month from cases where measure = 'meter_checks' and month < '2026-05'");
        assert!(months.is_empty(), "{months:?}");
    }
    let cases = |warehouse: &TestWarehouse| {
        let files = &tables(warehouse)["cases"].files;
        files.iter().map(|file| file.sha256.clone()).collect::<Vec<_>>()
    };
    assert_eq!(cases(&ours), cases(&whole));
}

/// A failed check holds until the next one: one that is added to an earlier month, and then
/// corrected there, decides what later readings are, though no baby has a row in its month.
#[test]
fn a_check_of_an_earlier_month_decides_the_readings_of_later_ones() {
    let through = Through {
        all: Some(1_782_860_400), // 2026-07-01 00:00 in London
        ..Through::default()
    };
    let births = format!("{BIRTHS}b1,m1,2026-03-01T08:00,39+0,,,,,u1,,,,\n");
    let screens = format!("{SCREENS}s1,b1,2026-03-15T08:00,200,umol/L,,,M1,,,,u1\n");
    let check = |row: &str| format!("check_id,meter_id,checked_at,outcome,unit\n{row}\n");
    let of_another_meter = check("c1,M2,2026-03-15T06:00,pass,u1");
    let mut ours = TestWarehouse::new();
    let mut whole = TestWarehouse::new();
    whole.is_whole = true;
    ours.is_whole = false;
    for warehouse in [&ours, &whole] {
        let files = [
            ("births.csv", births.as_str()),
            ("screens.csv", screens.as_str()),
            ("meter_checks.csv", of_another_meter.as_str()),
        ];
        warehouse.load_texts(&files, &through, 1_782_860_400).unwrap();
        let changes = [
            ("c2,M1,2026-02-10T06:00,fail,u1", "failed"),
            ("c2,M1,2026-02-10T06:00,pass,u1", "unchecked"),
            ("c2,M1,2026-01-10T06:00,fail,u1", "failed"),
        ];
        let day = "select name from cases where figure = 'meter_checks'";
        assert_eq!(warehouse.rows(day)[0]["name"], "unchecked");
        for (at, (row, expected)) in (1_782_860_401..).zip(changes) {
            warehouse
                .load_texts(&[("meter_checks.csv", check(row).as_str())], &through, at)
                .unwrap();
            assert_eq!(warehouse.rows(day)[0]["name"], expected, "{row}");
        }
    }
    assert_eq!(tables(&ours)["cases"].files, tables(&whole)["cases"].files);
}

#[test]
fn a_correction_rewrites_only_its_month() {
    let warehouse = TestWarehouse::new();
    half_a_year(&warehouse);
    let derived = ["screens", "judged_screens"];
    let before = derived.map(|table| inodes(&warehouse, table));
    let corrected = format!("{SCREENS}s2,b2,2026-02-15T08:00,290,umol/L,,,,,,,u1\n");
    let built = warehouse
        .load_texts(&[("screens.csv", &corrected)], &Through::default(), 1_782_946_800)
        .unwrap();
    assert!(built.snapshot.is_some());
    for (table, before) in derived.iter().zip(before) {
        let after = inodes(&warehouse, table);
        for (month, inode) in before {
            assert_eq!(after[&month] == inode, month != "2026-02", "{table}, {month}");
        }
    }
    let february = warehouse.rows("select is_due from judged_screens where month = '2026-02'");
    assert_eq!(february[0]["is_due"], "true", "290 is above the limit of the protocol");
}

#[test]
fn after_changes_in_old_and_new_months_everything_is_as_if_settled_anew() {
    let mut warehouse = TestWarehouse::new();
    half_a_year(&warehouse);
    let rows = [
        "s2,b2,2026-02-15T08:00,290,umol/L,,,,,,,u1\n",
        "s9,b6,2026-06-20T08:00,280,umol/L,,,,,,,u1\n",
    ];
    for (row, at) in rows.iter().zip(1_782_946_800..) {
        let text = format!("{SCREENS}{row}");
        warehouse
            .load_texts(&[("screens.csv", &text)], &Through::default(), at)
            .unwrap();
    }
    let changed = tables(&warehouse);
    warehouse.is_whole = true;
    warehouse.load(&[], &Through::default(), 1_782_946_900).unwrap();
    for (name, table) in tables(&warehouse) {
        assert_eq!(changed[&name].files, table.files, "{name}");
    }
}

#[test]
fn rows_of_a_merged_baby_are_of_the_one_that_stands_until_the_merge_is_withdrawn() {
    let warehouse = TestWarehouse::new();
    half_a_year(&warehouse);
    let owner = "select infant_id from screens where screen_id = 's2'";
    let loads = [
        ("b2,b3,2026-06-01T10:00,\n", "b3", 5),
        ("b3,b4,2026-06-01T10:00,\n", "b4", 4),
        ("b2,b3,2026-06-01T10:00,withdrawn\n", "b2", 5),
    ];
    for (row, expected, births) in loads {
        let text = format!("from_infant_id,into_infant_id,merged_at,record_status\n{row}");
        warehouse
            .load_texts(&[("merges.csv", &text)], &Through::default(), 1_782_946_800)
            .unwrap();
        assert_eq!(warehouse.rows(owner)[0]["infant_id"], expected, "after {row}");
        assert_eq!(warehouse.rows("select * from births").len(), births, "after {row}");
    }
}

#[test]
fn merges_in_a_circle_are_refused_and_change_nothing() {
    let warehouse = TestWarehouse::new();
    half_a_year(&warehouse);
    let text = "from_infant_id,into_infant_id,merged_at\nb2,b3,2026-06-01T10:00\nb3,b2,2026-06-01T10:00\n";
    let error = warehouse
        .load_texts(&[("merges.csv", text)], &Through::default(), 1_782_946_800)
        .err()
        .unwrap();
    assert!(error.to_string().contains("run in a circle: b2, b3"), "{error}");
    assert_eq!(warehouse.warehouse().newest().unwrap().manifest().load, 1);
}

/// By an order without ties the bytes of a file depend on its rows alone.
#[test]
fn rows_of_a_month_are_stored_in_the_order_of_the_header_and_no_two_alike() {
    let warehouse = TestWarehouse::new();
    let folder = tempfile::tempdir().unwrap();
    for load in random::extracts(7, 120) {
        crate::oracle_equality::load_from(&warehouse, folder.path(), &load);
    }
    let snapshot = warehouse.warehouse().newest().unwrap();
    let mut rows_seen = 0;
    for query in catalogue::derived() {
        let order = query.header.list("order");
        let columns: Vec<&str> = order.into_iter().filter(|column| *column != "month").collect();
        if columns.is_empty() || !query.is_stored() {
            continue;
        }
        for file in &snapshot.manifest().tables[query.name].files {
            let batches = read_stored(&snapshot.path().join(&file.path), query.name, Some(&columns)).unwrap();
            let batches: Vec<RecordBatch> = batches.map(Result::unwrap).collect();
            let all = concat_batches(&batches[0].schema(), &batches).unwrap();
            let keys: Vec<_> = columns.iter().map(|column| all[*column].clone()).collect();
            let options = SortOptions::default().with_nulls_first(false);
            let fields = keys
                .iter()
                .map(|key| SortField::new_with_options(key.data_type().clone(), options));
            let keys = RowConverter::new(fields.collect())
                .unwrap()
                .convert_columns(&keys)
                .unwrap();
            rows_seen += all.num_rows();
            for row in 1..all.num_rows() {
                assert!(keys.row(row - 1) < keys.row(row), "{}: row {row}", file.path);
            }
        }
    }
    assert!(rows_seen > 500, "{rows_seen}");
}

const SERUM: &str =
    "specimen_id,infant_id,collected_at,resulted_at,value,unit_of_measure,analyte,specimen,status,unit\n";
const PHOTOTHERAPY: &str = "episode_id,infant_id,started_at,stopped_at,kind,setting,unit\n";
const STAYS: &str = "stay_id,infant_id,unit,admitted_at,discharged_at,source,disposition,diagnoses\n";

fn all_through(at_s: i64) -> Through {
    Through {
        all: Some(at_s),
        ..Through::default()
    }
}

/// Loads the same into two warehouses, one of which derives everything each time, and gives after
/// each load what the first tells of the babies' treatment.
fn of_treatment(loads: &[(i64, &[(&str, &str)])]) -> Vec<String> {
    let ours = TestWarehouse::new();
    let mut whole = TestWarehouse::new();
    whole.is_whole = true;
    let folder = tempfile::tempdir().unwrap();
    let mut names = Vec::new();
    for (through_s, files) in loads {
        // The same paths for both, as they are stored with each row.
        let mut paths = Vec::new();
        for (name, header) in [
            ("births", BIRTHS),
            ("serum", SERUM),
            ("phototherapy", PHOTOTHERAPY),
            ("stays", STAYS),
        ] {
            let rows = files.iter().find(|(table, _)| *table == name);
            let path = folder.path().join(format!("{name}.csv"));
            std::fs::write(&path, format!("{header}{}", rows.map_or("", |(_, rows)| rows))).unwrap();
            paths.push(path);
        }
        for warehouse in [&ours, &whole] {
            warehouse.load(&paths, &all_through(*through_s), *through_s).unwrap();
        }
        let (ours_now, whole_now) = (tables(&ours), tables(&whole));
        for (name, entry) in &whole_now {
            let sha256 = |entry: &TableEntry| entry.files.iter().map(|file| file.sha256.clone()).collect::<Vec<_>>();
            assert_eq!(sha256(&ours_now[name]), sha256(entry), "{name}, through {through_s}");
        }
        let rows = ours.rows("select name from cases where figure = 'time_to_treatment' order by infant_id");
        names.push(
            rows.iter()
                .map(|row| row["name"].as_str())
                .collect::<Vec<_>>()
                .join(" "),
        );
    }
    names
}

const APRIL_S: i64 = 1_774_998_000; // 2026-04-01 00:00 in London
const SEPTEMBER_S: i64 = 1_788_217_200; // 2026-09-01 00:00 in London
const OCTOBER_S: i64 = 1_790_809_200; // 2026-10-01 00:00 in London

/// The clock of a baby whose result is corrected months later starts with that result: what the
/// next data end decides of it must not be missed because the specimen is old.
#[test]
fn a_result_that_comes_months_late_is_followed_to_its_end() {
    let born = "b1,m1,2026-03-08T08:00,39+0,,,,,u1,,,,\n";
    let first = "l1,b1,2026-03-10T08:00,2026-03-10T09:00,100,umol/L,total,serum,final,u1\n";
    let corrected = "l1,b1,2026-03-10T08:00,2026-08-31T20:00,400,umol/L,total,serum,corrected,u1\n";
    let names = of_treatment(&[
        (APRIL_S, &[("births", born), ("serum", first)]),
        (SEPTEMBER_S, &[("serum", corrected)]),
        (OCTOBER_S, &[]),
    ]);
    assert_eq!(names, ["", "open", "none"]);
}

/// A month is provisional until some days after its last birth, also for babies that are derived in
/// another portion than that birth.
#[test]
fn a_month_is_provisional_by_its_last_birth_in_whatever_portion() {
    let (mut births, mut stays) = (BIRTHS.to_owned(), STAYS.to_owned());
    for baby in 0..25 {
        let day = baby + 1;
        births.push_str(&format!("b{baby},m{baby},2026-06-{day:02}T08:00,39+0,,,,,u1,,,,\n"));
        stays.push_str(&format!(
            "w{baby},b{baby},u1,2026-06-{day:02}T08:00,2026-06-{:02}T08:00,birth,home,\n",
            day + 2
        ));
    }
    // The first was born 39 days before, the last 15 days: by 28 days the month may still change, by 7 not.
    let through_s = 1_783_638_000; // 2026-07-10 00:00 in London
    let mut warehouses = [TestWarehouse::new(), TestWarehouse::new()];
    warehouses[1].slice_rows = 1;
    let [together, apart] = warehouses.map(|warehouse| {
        let files = [
            ("births.csv", births.as_str()),
            ("stays.csv", stays.as_str()),
            ("phototherapy.csv", PHOTOTHERAPY),
        ];
        warehouse.load_texts(&files, &all_through(through_s), through_s).unwrap();
        warehouse.rows(
            "select figure, infant_id, name, also from cases where measure = 'jaundice_readmission' order by figure, infant_id",
        )
    });
    assert!(together.len() >= 25, "{}", together.len());
    for case in &together {
        let is_provisional = case["figure"].ends_with("28d");
        assert_eq!(case["also"] == "provisional", is_provisional, "{case:?}");
    }
    assert_eq!(apart, together);
}

/// Babies are dealt to portions by this hash. Test vectors of the IETF draft "The FNV
/// Non-Cryptographic Hash Algorithm" (memory).
#[test]
fn the_hash_of_babies_is_fnv_1a() {
    assert_eq!(fnv(""), 0xcbf2_9ce4_8422_2325);
    assert_eq!(fnv("a"), 0xaf63_dc4c_8601_ec8c);
    assert_eq!(fnv("foobar"), 0x8594_4171_f739_67e8);
}
