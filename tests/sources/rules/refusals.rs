//! What `sources.toml` may not say.

use siskin::extracts::sources::Sources;
use std::path::Path;

use super::{parse, serum};

fn refused(text: &str) -> String {
    match Sources::parse(text, Path::new("sources.toml")) {
        Ok(_) => panic!("it is not refused:\n{text}"),
        Err(error) => error.to_string(),
    }
}

#[test]
fn an_unknown_key_is_refused_with_its_line_and_the_key_that_is_meant() {
    let error = refused("[[source]]\nname = \"s\"\nfiles = [\"*\"]\ndelimeter = \";\"\n");
    for part in ["sources.toml", "line 4", "delimeter", "did you mean 'delimiter'?"] {
        assert!(error.contains(part), "{part}\n{error}");
    }
    let error = refused(&serum("", &[("value", "{ colum = \"result\" }")]));
    assert!(
        error.contains("did you mean 'column'?") && error.contains("line "),
        "{error}"
    );
}

#[test]
fn what_cannot_hold_is_refused_with_what_to_do() {
    let unit = |text: &str| serum("", &[("unit_of_measure", text)]);
    let cases = [
        (serum("", &[("colected_at", "\"x\"")]), "did you mean 'collected_at'?"),
        (
            serum("", &[]).replace("\"serum\"", "\"serums\""),
            "did you mean 'serum'?",
        ),
        (
            serum("", &[]).replace("infant_id = \"baby\"\n", ""),
            "column infant_id is needed",
        ),
        (
            serum("", &[]).replace("unit_of_measure = \"units\"\n", ""),
            "unit_of_measure is needed beside value",
        ),
        (
            serum("", &[]).replace("status = { constant = \"final\" }\n", ""),
            "column status is needed",
        ),
        (
            serum("", &[("status", "{ constant = \"done\" }")]),
            "'done' is no word of it",
        ),
        (
            serum("", &[("status", "{ column = \"s\", words = { F = \"finl\" } }")]),
            "did you mean 'final'?",
        ),
        (
            serum("", &[("value", "{ column = \"v\", status_words = { x = \"bad\" } }")]),
            "'bad' is no status",
        ),
        (
            serum("", &[("value", "{ column = \"v\", assumed = \"5\" }")]),
            "assumed is for unit_of_measure only",
        ),
        (
            serum("", &[("value", "{ join = [\"a\", \"b\"] }")]),
            "cannot be made in this way",
        ),
        (
            serum("", &[("value", "{ column = \"v\", words = { a = \"5\" } }")]),
            "use status_words",
        ),
        (
            serum("", &[("collected_at", "{ date = \"d\" }")]),
            "date and time belong together",
        ),
        (
            serum("", &[("unit", "{ column = \"u\", constant = \"W\" }")]),
            "say one of",
        ),
        (unit("{ words = { a = \"b\" } }"), "say one of"),
        (unit("7"), "a header name"),
        (serum("decimal = \";\"", &[]), "decimal is"),
        (serum("thousands = \".\"", &[]), "the same sign"),
        (serum("delimiter = \"a\"", &[]), "delimiter is one sign"),
        (serum("encoding = \"latin-99\"", &[]), "'latin-99' is not known"),
        (serum("dates = [\"%H:%M\"]", &[]), "'%H:%M' is no way to write a time"),
        (serum("dates = [\"%d.%m.%K\"]", &[]), "'%d.%m.%K' is no way"),
        (serum("zone = \"Berlin\"", &[]), "is not an IANA time zone"),
        (
            serum("[source.ids]\nbabby = { pad = 6 }", &[]),
            "no target takes a column 'babby'",
        ),
        (
            serum("", &[]).replace("[source.target.columns]", "part = true\n[source.target.columns]"),
            "births and stays only",
        ),
        (
            serum("", &[]) + "[codes]\nseram = [\"X\"]\n",
            "codes.seram is no meaning",
        ),
        (serum("", &[]) + &serum("", &[]), "two sources are called 's'"),
        (
            "[[source]]\nname = \"s\"\nfiles = [\"*\"]\n".to_owned(),
            "it feeds no table",
        ),
        (
            "[[source]]\nname = \"s\"\nfiles = []\n".to_owned(),
            "at least one pattern",
        ),
        (
            "[[source]]\nname = \"s\"\nfiles = [\"*\"]\nformat = \"fhir\"\ndecimal = \",\"\n".to_owned(),
            "the rest is for csv",
        ),
    ];
    for (text, part) in cases {
        let error = refused(&text);
        assert!(error.contains(part), "expected: {part}\nfound: {error}");
    }
}

#[test]
fn the_first_source_whose_pattern_fits_reads_a_file() {
    let source =
        |name: &str, files: &str| format!("[[source]]\nname = \"{name}\"\nfiles = {files}\nformat = \"fhir\"\n");
    let text = source("a", "[\"lab_??.csv\"]") + &source("b", "[\"*.txt\", \"lab*\"]") + &source("c", "[\"*é.*.gz\"]");
    let sources = parse(&text);
    let named = |file: &str| sources.for_file(Path::new(file)).map(|source| source.name().to_owned());
    for (file, name) in [
        ("lab_01.csv", Some("a")),
        ("in/LAB_x1.CSV", Some("a")),
        ("lab_001.csv", Some("b")),
        ("x.txt", Some("b")),
        (".txt", Some("b")),
        ("x.txt.gz", None),
        ("café.x.gz", Some("c")),
        ("", None),
    ] {
        assert_eq!(named(file).as_deref(), name, "{file}");
    }
    assert!(sources.named("b").is_some() && sources.named("d").is_none());
}

#[test]
fn a_warehouse_without_the_file_has_no_sources() {
    let folder = tempfile::tempdir().unwrap();
    assert!(Sources::read(&folder.path().join("sources.toml")).unwrap().is_none());
    assert!(Sources::read(folder.path()).is_err(), "a folder is no file");
}
