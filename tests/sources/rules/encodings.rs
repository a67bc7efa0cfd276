//! How the encoding of a file is found.

use siskin::extracts::Reader;
use siskin::extracts::reason::Reason;
use siskin::extracts::text::Found;

use super::{open, parse, refusal, serum};

const HEAD: &str = "id,baby,taken,result,units,ward\n";

fn ward(settings: &str, bytes: &[u8]) -> (Found, &'static str, Vec<Result<String, Reason>>) {
    let sources = parse(&serum(settings, &[("unit", "\"ward\"")]));
    let mut reader = open(&sources, bytes).unwrap_or_else(|error| panic!("{error}"));
    let encoding = reader.encoding();
    let all = std::iter::from_fn(|| reader.next_record().unwrap());
    let wards = all.map(|record| match record.fault {
        Some(fault) => Err(fault.kind),
        None => Ok(record.rows[0].value("unit").to_owned()),
    });
    (encoding.found(), encoding.name(), wards.collect())
}

fn line(ward: &[u8]) -> Vec<u8> {
    [b"1,2,2026-01-02 03:04,200,umol/L,".as_slice(), ward, b"\n"].concat()
}

#[test]
fn utf_8_is_found_by_what_it_says() {
    let file = [HEAD.as_bytes(), &line("Säule".as_bytes())].concat();
    assert_eq!(ward("", &file), (Found::Valid, "UTF-8", vec![Ok("Säule".to_owned())]));
}

#[test]
fn a_file_that_is_no_utf_8_is_read_as_windows_1252_or_as_declared() {
    let file = [HEAD.as_bytes(), &line(b"S\xe4ule \x80")].concat();
    assert_eq!(
        ward("", &file),
        (Found::Assumed, "windows-1252", vec![Ok("Säule €".to_owned())])
    );
    let (found, name, wards) = ward(
        "encoding = \"iso-8859-15\"",
        &[HEAD.as_bytes(), &line(b"S\xe4ule \xa4")].concat(),
    );
    assert_eq!(
        (found, name, wards),
        (Found::Declared, "ISO-8859-15", vec![Ok("Säule €".to_owned())])
    );
}

#[test]
fn a_broken_byte_in_utf_8_costs_its_row_only() {
    let file = [
        HEAD.as_bytes(),
        &line("Säule ö".as_bytes()),
        &line(b"S\xe4ule"),
        &line("Süd".as_bytes()),
    ]
    .concat();
    let (found, _, wards) = ward("", &file);
    assert_eq!(
        (found, wards),
        (
            Found::Valid,
            vec![Ok("Säule ö".to_owned()), Err(Reason::NotUtf8), Ok("Süd".to_owned())]
        )
    );
}

#[test]
fn utf_16_is_read_with_its_mark_or_as_declared_and_refused_otherwise() {
    let text = [HEAD.as_bytes(), &line("Säule".as_bytes())].concat();
    let text = String::from_utf8(text).unwrap();
    let little: Vec<u8> = text.encode_utf16().flat_map(u16::to_le_bytes).collect();
    let big: Vec<u8> = text.encode_utf16().flat_map(u16::to_be_bytes).collect();
    let wards = vec![Ok("Säule".to_owned())];
    assert_eq!(
        ward("", &[b"\xff\xfe", little.as_slice()].concat()),
        (Found::ByteOrderMark, "UTF-16LE", wards.clone())
    );
    assert_eq!(
        ward("", &[b"\xfe\xff", big.as_slice()].concat()),
        (Found::ByteOrderMark, "UTF-16BE", wards.clone())
    );
    assert_eq!(
        ward("encoding = \"utf-16be\"", &big),
        (Found::Declared, "UTF-16BE", wards)
    );
    let error = refusal(&serum("", &[]), &little);
    assert!(
        error.contains("without a byte-order mark") && error.contains("utf-16le"),
        "{error}"
    );
}

#[test]
fn half_a_letter_of_utf_16_costs_its_row_only() {
    let mut file = b"\xff\xfe".to_vec();
    file.extend(HEAD.encode_utf16().flat_map(u16::to_le_bytes));
    file.extend(
        "1,2,2026-01-02 03:04,200,umol/L,"
            .encode_utf16()
            .flat_map(u16::to_le_bytes),
    );
    file.extend(0xd800_u16.to_le_bytes()); // a surrogate without its other half
    file.extend(
        "\n1,2,2026-01-02 03:04,200,umol/L,W\n"
            .encode_utf16()
            .flat_map(u16::to_le_bytes),
    );
    assert_eq!(ward("", &file).2, [Err(Reason::NotUtf8), Ok("W".to_owned())]);
}

#[test]
fn letters_across_the_part_that_is_looked_at_are_whole() {
    // One letter of two bytes lies over the end of the first 64 KiB, and over each end of a stretch.
    for shift in 0..3 {
        let mut file = format!("{}{HEAD}", "#".repeat(shift) + "\n").into_bytes();
        while file.len() < 200_000 {
            file.extend(line("ä€ä€ä€".as_bytes()));
        }
        let (found, _, wards) = ward("skip_lines = 1", &file);
        assert_eq!(found, Found::Valid);
        assert!(wards.len() > 3000 && wards.iter().all(|ward| ward.as_deref() == Ok("ä€ä€ä€")));
    }
}

#[test]
fn the_only_letter_cut_by_the_part_that_is_looked_at_is_whole() {
    let mut file = HEAD.as_bytes().to_vec();
    let full = line(b"W");
    while file.len() + 2 * full.len() < 64 * 1024 {
        file.extend(&full);
    }
    let before = 64 * 1024 - 1 - file.len() - (full.len() - 2); // its first byte is the last of the 64 KiB
    file.extend(line(&[&b"W".repeat(before), "\u{e4}".as_bytes()].concat()));
    assert_eq!(file[64 * 1024 - 1..64 * 1024 + 1], *"\u{e4}".as_bytes());
    let (found, _, wards) = ward("", &file);
    assert_eq!(found, Found::Valid);
    assert!(wards.last().unwrap().as_ref().unwrap().ends_with('\u{e4}'));
}
