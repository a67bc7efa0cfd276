//! Text of a file as UTF-8, whatever its encoding, as a stream.
//!
//! A declared encoding is taken; a byte-order mark has the last word. Without
//! either, a start that is valid UTF-8 makes the file UTF-8, and anything else
//! windows-1252, which the user is warned of ([`Encoding::remark`]). Bytes that are
//! no text in the encoding stay visible as bytes that are no UTF-8, so that the
//! reader sets that row aside.

use std::io::{self, BufRead, Chain, Cursor, Read};

use encoding_rs::{Decoder, DecoderResult, UTF_8, WINDOWS_1252};

/// How much of a file is looked at to find its encoding.
const LOOKED_AT: u64 = 64 * 1024;

/// A byte that is nowhere valid in UTF-8: stands for what cannot be decoded.
const NO_TEXT: u8 = 0xff;

/// The encoding of a file, and how it was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Encoding {
    encoding: &'static encoding_rs::Encoding,
    found: Found,
}

/// How an encoding was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Found {
    /// `sources.toml` names it.
    Declared,
    /// The file begins with a byte-order mark.
    ByteOrderMark,
    /// The start of the file is valid UTF-8.
    Valid,
    /// Nothing says it: the start of the file is no UTF-8.
    Assumed,
}

/// Why a file cannot be read as text.
#[derive(Debug, thiserror::Error)]
pub enum TextError {
    /// The file cannot be read.
    #[error(transparent)]
    Io(#[from] io::Error),
    /// It has bytes 0 and no byte-order mark.
    #[error("this looks like UTF-16 without a byte-order mark, or is no text")]
    ZeroBytes,
}

impl Encoding {
    /// Whether `label` names an encoding that can be read, as in the Encoding Standard (WHATWG).
    pub fn is_known(label: &str) -> bool {
        encoding_rs::Encoding::for_label_no_replacement(label.as_bytes()).is_some()
    }

    /// Its name, such as `windows-1252`.
    pub fn name(&self) -> &'static str {
        self.encoding.name()
    }

    /// How it was found.
    pub fn found(&self) -> Found {
        self.found
    }

    /// A remark for the user, when the encoding was only assumed.
    pub fn remark(&self) -> Option<String> {
        (self.found == Found::Assumed).then(|| {
            format!(
                "read as {}, as it is not UTF-8 and has no byte-order mark; declare encoding = \"{}\" (or the right one) for it in sources.toml",
                self.name(),
                self.name().to_lowercase()
            )
        })
    }
}

/// A stream decoded to UTF-8, without its byte-order mark.
pub struct Text<R> {
    from: Chain<Cursor<Vec<u8>>, R>,
    /// None for UTF-8, which is passed on as it is.
    decoder: Option<Decoder>,
    encoding: Encoding,
    raw: Vec<u8>,
    raw_at: usize,
    decoded: Vec<u8>,
    decoded_at: usize,
    is_over: bool,
}

impl<R: Read> Text<R> {
    /// Looks at the start of the stream; `declared` is a label of the Encoding Standard.
    ///
    /// # Errors
    /// When the stream cannot be read, or looks like UTF-16 without saying which.
    pub fn open(mut from: R, declared: Option<&str>) -> Result<Self, TextError> {
        let mut start = Vec::new();
        from.by_ref().take(LOOKED_AT).read_to_end(&mut start)?;
        let declared = declared.and_then(|label| encoding_rs::Encoding::for_label_no_replacement(label.as_bytes()));
        let (encoding, mark) = match (encoding_rs::Encoding::for_bom(&start), declared) {
            (Some((encoding, length)), _) => (found(encoding, Found::ByteOrderMark), length),
            (None, Some(encoding)) => (found(encoding, Found::Declared), 0),
            (None, None) => (detected(&start)?, 0),
        };
        start.drain(..mark);
        let is_utf_8 = encoding.encoding == UTF_8;
        Ok(Self {
            from: Cursor::new(start).chain(from),
            decoder: (!is_utf_8).then(|| encoding.encoding.new_decoder_without_bom_handling()),
            encoding,
            raw: Vec::new(),
            raw_at: 0,
            decoded: Vec::new(),
            decoded_at: 0,
            is_over: false,
        })
    }

    /// The encoding that is read.
    pub fn encoding(&self) -> Encoding {
        self.encoding
    }

    /// Decodes the next stretch; leaves `decoded` empty only at the end.
    fn decode_more(&mut self) -> io::Result<()> {
        self.decoded.clear();
        self.decoded_at = 0;
        while self.decoded.is_empty() && !self.is_over {
            if self.raw_at == self.raw.len() {
                self.raw.clear();
                self.raw_at = 0;
                self.from.by_ref().take(8 * 1024).read_to_end(&mut self.raw)?;
            }
            let rest = self.raw.get(self.raw_at..).unwrap_or_default();
            let is_last = rest.is_empty();
            let Some(decoder) = &mut self.decoder else {
                self.decoded.extend_from_slice(rest);
                self.raw_at = self.raw.len();
                self.is_over = is_last;
                continue;
            };
            let mut to = [0; 4 * 1024];
            let (result, read, written) = decoder.decode_to_utf8_without_replacement(rest, &mut to, is_last);
            self.raw_at += read;
            self.decoded.extend_from_slice(to.get(..written).unwrap_or_default());
            match result {
                DecoderResult::Malformed(..) => self.decoded.push(NO_TEXT),
                DecoderResult::InputEmpty => self.is_over = is_last,
                DecoderResult::OutputFull => {}
            }
        }
        Ok(())
    }
}

impl<R: Read> Read for Text<R> {
    fn read(&mut self, to: &mut [u8]) -> io::Result<usize> {
        let mut from = self.fill_buf()?;
        let read = from.read(to)?;
        self.consume(read);
        Ok(read)
    }
}

impl<R: Read> BufRead for Text<R> {
    fn fill_buf(&mut self) -> io::Result<&[u8]> {
        if self.decoded_at >= self.decoded.len() {
            self.decode_more()?;
        }
        Ok(self.decoded.get(self.decoded_at..).unwrap_or_default())
    }

    fn consume(&mut self, amount: usize) {
        self.decoded_at += amount;
    }
}

fn found(encoding: &'static encoding_rs::Encoding, found: Found) -> Encoding {
    Encoding { encoding, found }
}

/// The encoding of a start without a byte-order mark. A few broken bytes among
/// letters that are valid UTF-8 do not make a file windows-1252.
fn detected(start: &[u8]) -> Result<Encoding, TextError> {
    if start.contains(&0) {
        return Err(TextError::ZeroBytes);
    }
    let is_whole = (start.len() as u64) < LOOKED_AT;
    let (mut letters, mut broken, mut seen) = (0, 0, 0);
    for chunk in start.utf8_chunks() {
        letters += chunk.valid().chars().filter(|c| !c.is_ascii()).count();
        seen += chunk.valid().len() + chunk.invalid().len();
        let is_cut = !is_whole && seen == start.len();
        if !chunk.invalid().is_empty() && !is_cut {
            broken += 1;
        }
    }
    Ok(if broken > 0 && broken >= letters {
        found(WINDOWS_1252, Found::Assumed)
    } else {
        found(UTF_8, Found::Valid)
    })
}
