//! The sample as a network of twelve units: each of its three in four parts, by the id of the baby.

use std::collections::BTreeMap;
use std::fs;

use crate::commands::demo;

use super::markup::Markup;
use super::network::run;
use super::written::report;

/// The part that somebody belongs to: by the number in an id, 1 to 4.
fn part(id: &str) -> u32 {
    let digits: String = id.chars().filter(char::is_ascii_digit).collect();
    digits.parse::<u32>().unwrap_or(0) % 4 + 1
}

/// A table with each unit split; an empty one stays so.
fn split(text: &str, by: &str) -> String {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let header = reader.headers().unwrap().clone();
    let at = |name: &str| header.iter().position(|column| column == name);
    let (unit, id) = (at("unit").unwrap(), at(by).unwrap());
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(&header).unwrap();
    for row in reader.records().map(Result::unwrap) {
        let cells = row
            .iter()
            .enumerate()
            .map(|(i, cell)| match i == unit && !cell.is_empty() {
                true => format!("{cell} {}", part(&row[id])),
                false => cell.to_owned(),
            });
        writer.write_record(cells).unwrap();
    }
    String::from_utf8(writer.into_inner().unwrap()).unwrap()
}

/// `PAGES_OUT` keeps the report in that folder, to be opened in a browser.
#[test]
#[ignore = "loads 24 months of twelve units"]
fn twelve_units_fit_on_a_page() {
    let folder = tempfile::tempdir().unwrap();
    let warehouse = folder.path().join("warehouse");
    fs::create_dir(&warehouse).unwrap();
    for file in ["protocol.toml", "notes.toml"] {
        fs::copy(demo().warehouse().join(file), warehouse.join(file)).unwrap();
    }
    let mut loaded = Vec::new();
    for month in fs::read_dir(demo().warehouse().join("extracts")).unwrap() {
        let month = month.unwrap().path();
        if !month.is_dir() {
            continue;
        }
        let to = folder.path().join("extracts").join(month.file_name().unwrap());
        fs::create_dir_all(&to).unwrap();
        for table in [
            "births",
            "screens",
            "serum",
            "phototherapy",
            "stays",
            "exchanges",
            "meter_checks",
        ] {
            let file = format!("{table}.csv");
            let by = if table == "meter_checks" {
                "meter_id"
            } else {
                "infant_id"
            };
            fs::write(
                to.join(&file),
                split(&fs::read_to_string(month.join(&file)).unwrap(), by),
            )
            .unwrap();
        }
        loaded.push(to.to_str().unwrap().to_owned());
    }
    loaded.sort();
    assert_eq!(loaded.len(), 24);
    let mut load = vec![
        "--quiet",
        "load",
        "--warehouse",
        warehouse.to_str().unwrap(),
        "--through",
        "2026-10-01T00:00",
    ];
    load.extend(loaded.iter().map(String::as_str));
    run(&load);
    let kept = std::env::var_os("PAGES_OUT");
    let out = kept.map_or_else(|| folder.path().join("reports"), std::path::PathBuf::from);
    let month = report(&warehouse, "2026-09", &out, &[]);
    let page = fs::read_to_string(month.join("quality/dashboard.html")).unwrap();
    println!("dashboard.html of twelve units: {} bytes", page.len());
    assert!(page.len() < 1_500_000, "{}", page.len());
    Markup::of(&page);
    let units = page.split("Units side by side, twelve months").nth(1).unwrap();
    let units = units.split("</table>").next().unwrap();
    let names = units
        .split("<th scope=\"row\">")
        .skip(1)
        .map(|row| row.split('<').next().unwrap());
    let mut rows: BTreeMap<&str, usize> = BTreeMap::new();
    names.for_each(|name| *rows.entry(name).or_default() += 1);
    for unit in ["harbour", "meadow", "hill"] {
        let parts = (1..=4)
            .filter(|part| rows.get(format!("{unit} {part}").as_str()) == Some(&1))
            .count();
        assert_eq!(parts, 4, "{rows:?}");
    }
    assert!(
        rows.keys().all(|name| name.ends_with(|c: char| c.is_ascii_digit())
            || ["unknown", "network", "all", "all units"].contains(name)),
        "{rows:?}"
    );
}
