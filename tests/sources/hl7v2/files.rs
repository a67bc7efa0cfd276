//! Files: line ends, frames, batches, character sets, and what is no message.

use siskin::extracts::hl7v2::{Hl7Settings, Visits, record_of};
use siskin::extracts::reason::Reason;

use super::{adt, assert_fault, only_row, oru, read, read_with, said, settings, settings_with};

const SCREEN: [&str; 2] = [
    "OBR|1||T-1|58941-6^^LN|||202603010700",
    "OBX|1|NM|58941-6^^LN||200|umol/L|||||F",
];

#[test]
fn segments_end_in_any_line_end() {
    let message = oru(&SCREEN);
    let alike: Vec<_> = ["\r", "\n", "\r\n"]
        .map(|end| only_row(message.replace('\r', end)))
        .into();
    assert_eq!(alike[0].value("value"), "200");
    assert!(alike.iter().all(|row| *row == alike[0]));
}

#[test]
fn a_message_may_come_in_a_frame() {
    let framed = format!("\u{b}{}\u{1c}\r\u{b}{}\u{1c}\r", oru(&SCREEN), oru(&SCREEN));
    let records = read(&framed);
    assert_eq!(records.len(), 2);
    assert!(
        records
            .iter()
            .all(|record| record.rows.len() == 1 && record.fault.is_none())
    );
    assert_eq!(records[1].line, 6);
}

#[test]
fn a_frame_that_never_ends_was_cut_off() {
    let records = read(format!("\u{b}{}", oru(&SCREEN)));
    assert_fault(records[0].fault.as_ref(), Reason::UnreadableRecord, "", "cut off");
    assert!(records[0].rows.is_empty());
    let again = record_of(&records[0].text, &settings(), &mut Visits::default());
    assert_fault(again.fault.as_ref(), Reason::UnreadableRecord, "", "cut off");
}

#[test]
fn a_last_segment_without_an_end_was_cut_off() {
    let message = oru(&SCREEN);
    let records = read(message.trim_end());
    assert_fault(records[0].fault.as_ref(), Reason::UnreadableRecord, "", "cut off");
}

#[test]
fn a_batch_is_held_against_its_count() {
    let batch = |count: u32| {
        let messages = oru(&SCREEN) + &oru(&SCREEN);
        format!("\u{feff}FHS|^~\\&|H\rBHS|^~\\&|H\r{messages}BTS|{count}\rFTS|1\r")
    };
    let whole = read(batch(2));
    assert_eq!(whole.len(), 2);
    assert!(whole.iter().all(|record| record.fault.is_none()));
    let short = read(batch(3));
    assert_eq!(short.len(), 3);
    assert_eq!(short[2].line, 11);
    let remedy = "BTS, field 1: says 3 messages, but 2 stand before it";
    assert_fault(short[2].fault.as_ref(), Reason::UnreadableRecord, "", remedy);
}

#[test]
fn a_batch_that_is_never_closed_was_cut_off() {
    let records = read(format!("BHS|^~\\&|H\r{}", oru(&SCREEN)));
    assert_eq!(records[0].fault, None);
    assert_fault(
        records[1].fault.as_ref(),
        Reason::UnreadableRecord,
        "",
        "BHS in line 1 is not followed by BTS",
    );
}

#[test]
fn text_before_the_first_message_is_one_fault() {
    let records = read(format!("From: the lab\nSubject: results\n\n{}", oru(&SCREEN)));
    assert_eq!(records.len(), 2);
    assert_eq!((records[0].line, records[1].line), (1, 4));
    assert_fault(
        records[0].fault.as_ref(),
        Reason::UnreadableRecord,
        "",
        "belongs to no message",
    );
    assert_eq!(records[1].rows.len(), 1);
}

#[test]
fn a_message_that_is_too_long_is_left_out_and_the_next_is_read() {
    let note = format!("NTE|1||{}", "x".repeat(1 << 20));
    let records = read(oru(&[&note]) + &oru(&SCREEN));
    assert_eq!(records.len(), 2);
    assert_fault(records[0].fault.as_ref(), Reason::UnreadableRecord, "", "longer than");
    assert!(records[0].text.len() < 10_000);
    assert_eq!(records[1].rows.len(), 1);
}

#[test]
fn the_character_set_is_what_the_message_says() {
    let header = "MSH|^~\\&|LAB|H|A|H|20260301080000||ORU^R01|M1|P|2.5.1||||||8859/1\rPID|1||B-1\r";
    let mut bytes = format!("{header}{}\r", SCREEN[0]).into_bytes();
    bytes.extend(b"OBX|1|NM|58941-6^^LN||200|\xb5mol/L|||||F\r");
    assert_eq!(only_row(&bytes).value("unit_of_measure"), "\u{b5}mol/L");
    let unsaid = String::from_utf8_lossy(&bytes).replace("8859/1", "");
    let unsaid: Vec<u8> = unsaid.replace('\u{fffd}', "\u{1}").bytes().collect();
    let unsaid: Vec<u8> = unsaid.into_iter().map(|b| if b == 1 { 0xb5 } else { b }).collect();
    let records = read(&unsaid);
    assert_fault(records[0].fault.as_ref(), Reason::NotUtf8, "", "declare the charset");
    let again = record_of(&records[0].text, &settings(), &mut Visits::default());
    assert_fault(again.fault.as_ref(), Reason::NotUtf8, "", "sources.toml");
    let declared = Hl7Settings {
        charset: Some("windows-1252".to_owned()),
        ..settings()
    };
    let records = read_with(&unsaid, &declared, &mut Visits::default());
    assert_eq!(records[0].rows[0].value("unit_of_measure"), "\u{b5}mol/L");
}

#[test]
fn a_character_set_that_nobody_knows_is_told() {
    let message = oru(&SCREEN).replacen("2.5.1", "2.5.1||||||KLINGON", 1);
    let records = read(message);
    assert_fault(records[0].fault.as_ref(), Reason::NotUtf8, "", "MSH, field 18");
}

#[test]
fn a_message_kept_as_text_says_the_same_again() {
    let first = read(oru(&SCREEN)).remove(0);
    let again = record_of(&first.text, &settings(), &mut Visits::default());
    assert_eq!(again, first);
}

#[test]
fn a_site_may_say_what_its_units_are() {
    let settings = settings_with("words.unit.PNW3 = \"postnatal\"");
    let message = adt("A01", "1", &["PV1|1|I|PNW3^12|R|||||||||||||||V-1"]);
    let records = read_with(message.as_bytes(), &settings, &mut Visits::default());
    assert_eq!(said(&records[0].rows[0], &["stay_id", "unit"]), ["V-1", "postnatal"]);
}
