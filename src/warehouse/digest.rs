//! SHA-256 as lower-case hexadecimal, of files and texts.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use sha2::{Digest, Sha256};

/// Lower-case hexadecimal.
pub fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}

/// Hash of a text.
pub fn of_text(text: &str) -> String {
    hex(&Sha256::digest(text))
}

/// Hash of a file, read piece by piece.
///
/// # Errors
/// When the file cannot be read.
pub fn of_file(path: &Path) -> std::io::Result<String> {
    let mut from = File::open(path)?;
    let mut hash = Sha256::new();
    let mut buffer = vec![0; 1 << 16];
    loop {
        match from.read(&mut buffer)? {
            0 => return Ok(hex(&hash.finalize())),
            read => hash.update(&buffer[..read]),
        }
    }
}

/// The hash of Fowler, Noll and Vo, 64 bits, in the form 1a: short, and the same everywhere.
pub fn fnv(text: &str) -> u64 {
    let mix = |hash: u64, byte: u8| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
    text.bytes().fold(0xcbf2_9ce4_8422_2325, mix)
}
