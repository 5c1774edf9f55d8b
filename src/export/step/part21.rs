//! The clear text encoding of ISO 10303-21: numbered entities, strings, numbers, sharing.

use std::fmt;
use std::io::{self, Write};

use rustc_hash::FxHashMap;

use crate::export::Meta;
use crate::export::date::moment;
use crate::export::mark;

/// Decimals of lengths, mm. A ten-millionth of the 1e-7 mm at which CAD programs merge points would
/// be noise of the arithmetic; a thousandth of it is enough and keeps files short.
const LENGTH_DECIMALS: u32 = 10;

/// Decimals of direction components: 1e-13 over ten metres is 1e-9 mm.
const DIRECTION_DECIMALS: u32 = 13;

/// How much text is gathered before it is handed on, bytes.
const GATHER: usize = 1 << 16;

/// Room for the shared entities of a usual part, so that the table does not grow step by step.
const USUAL_SHARED: usize = 512;

/// Number of an entity, written `#n`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Id(u32);

impl fmt::Display for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "#{}", self.0)
    }
}

/// A file being written: text gathered so far, and what may be shared.
pub(super) struct Part21<'a> {
    out: &'a mut dyn Write,
    text: Vec<u8>,
    body: Vec<u8>,
    last: u32,
    shared: FxHashMap<Box<[u8]>, Id>,
}

impl<'a> Part21<'a> {
    /// Starts a file: header and the beginning of the data.
    pub(super) fn start(out: &'a mut dyn Write, name: &str, meta: &Meta) -> Self {
        let mut file = Part21 {
            out,
            text: Vec::with_capacity(GATHER),
            body: Vec::with_capacity(256),
            last: 0,
            shared: FxHashMap::with_capacity_and_hasher(USUAL_SHARED, Default::default()),
        };
        let m = moment(meta.timestamp);
        let stamp = format!(
            "{:04}-{:02}-{:02}T{:02}:{:02}:{:02}",
            m.year, m.month, m.day, m.hour, m.minute, m.second
        );
        let program = concat!(env!("CARGO_PKG_NAME"), " ", env!("CARGO_PKG_VERSION"));
        let mark = mark::words(&meta.mark);
        let [title, mark, name] = [meta.title.as_str(), &mark, name].map(string);
        file.text.extend(
            format!(
                "ISO-10303-21;\nHEADER;\n\
                 FILE_DESCRIPTION(({title},{mark}),'2;1');\n\
                 FILE_NAME({name},'{stamp}',(''),(''),'{program}','{program}','');\n\
                 FILE_SCHEMA(('AUTOMOTIVE_DESIGN {{ 1 0 10303 214 1 1 1 1 }}'));\n\
                 ENDSEC;\nDATA;\n"
            )
            .into_bytes(),
        );
        file
    }

    /// Ends the file and hands on what is left.
    pub(super) fn finish(mut self) -> io::Result<()> {
        self.text.extend(b"ENDSEC;\nEND-ISO-10303-21;\n");
        self.out.write_all(&self.text)
    }

    /// Hands on gathered text and forgets what was shared; for use between parts, so that memory
    /// does not grow with their number.
    pub(super) fn end_part(&mut self) -> io::Result<()> {
        self.shared.clear();
        if self.text.len() >= GATHER {
            self.out.write_all(&self.text)?;
            self.text.clear();
        }
        Ok(())
    }

    /// A number for an entity that is written later.
    pub(super) fn reserve(&mut self) -> Id {
        self.last += 1;
        Id(self.last)
    }

    /// Begins an entity of this type.
    pub(super) fn entity(&mut self, kind: &str) -> Entity<'_, 'a> {
        self.body.clear();
        self.body.extend(kind.as_bytes());
        self.body.push(b'(');
        Entity { file: self, empty: true }
    }

    /// Writes an entity whose text is given whole, such as one of several types at once.
    pub(super) fn verbatim(&mut self, body: &str) -> Id {
        self.body.clear();
        self.body.extend(body.as_bytes());
        let id = self.reserve();
        self.write_body(id);
        id
    }

    fn write_body(&mut self, id: Id) {
        push_id(&mut self.text, id);
        self.text.push(b'=');
        self.text.extend(&self.body);
        self.text.extend(b";\n");
    }
}

/// An entity being written, parameter by parameter.
pub(super) struct Entity<'f, 'a> {
    file: &'f mut Part21<'a>,
    empty: bool,
}

impl Entity<'_, '_> {
    fn parameter(&mut self) -> &mut Vec<u8> {
        if !std::mem::take(&mut self.empty) {
            self.file.body.push(b',');
        }
        &mut self.file.body
    }

    /// The empty name most geometry has.
    pub(super) fn unnamed(mut self) -> Self {
        self.parameter().extend(b"''");
        self
    }

    /// A string, escaped.
    pub(super) fn string(mut self, text: &str) -> Self {
        self.parameter().extend(string(text).into_bytes());
        self
    }

    /// Text as it stands: `$`, `*`, `.ENUM.`.
    pub(super) fn token(mut self, token: &str) -> Self {
        self.parameter().extend(token.as_bytes());
        self
    }

    /// A reference.
    pub(super) fn id(mut self, id: Id) -> Self {
        push_id(self.parameter(), id);
        self
    }

    /// A list of references.
    pub(super) fn ids(mut self, ids: &[Id]) -> Self {
        list(self.parameter(), ids, |out, id| push_id(out, *id));
        self
    }

    /// A truth value.
    pub(super) fn flag(self, value: bool) -> Self {
        self.token(if value { ".T." } else { ".F." })
    }

    /// A length, mm.
    pub(super) fn length(mut self, value: f64) -> Self {
        push_real::<LENGTH_DECIMALS>(self.parameter(), value);
        self
    }

    /// A list of lengths, mm.
    pub(super) fn lengths(mut self, values: [f64; 3]) -> Self {
        list(self.parameter(), &values, |out, value| push_real::<LENGTH_DECIMALS>(out, *value));
        self
    }

    /// A number without unit, such as a component of a direction.
    pub(super) fn ratio(mut self, value: f64) -> Self {
        push_real::<DIRECTION_DECIMALS>(self.parameter(), value);
        self
    }

    /// A list of numbers without unit.
    pub(super) fn ratios(mut self, values: [f64; 3]) -> Self {
        list(self.parameter(), &values, |out, value| push_real::<DIRECTION_DECIMALS>(out, *value));
        self
    }

    /// Writes the entity under a new number.
    pub(super) fn write(self) -> Id {
        let id = self.file.reserve();
        self.write_as(id)
    }

    /// Writes the entity under a reserved number.
    pub(super) fn write_as(self, id: Id) -> Id {
        self.file.body.push(b')');
        self.file.write_body(id);
        id
    }

    /// The number of an equal entity if there is one since the last part ended; writes it if not.
    pub(super) fn shared(self) -> Id {
        if let Some(&id) = self.file.shared.get(self.key()) {
            return id;
        }
        let key: Box<[u8]> = self.key().into();
        let id = self.file.reserve();
        self.file.shared.insert(key, id);
        self.write_as(id)
    }

    fn key(&self) -> &[u8] {
        &self.file.body
    }
}

fn list<T>(out: &mut Vec<u8>, values: &[T], push: impl Fn(&mut Vec<u8>, &T)) {
    out.push(b'(');
    for (index, value) in values.iter().enumerate() {
        if index > 0 {
            out.push(b',');
        }
        push(out, value);
    }
    out.push(b')');
}

fn push_id(out: &mut Vec<u8>, id: Id) {
    out.push(b'#');
    push_integer(out, u64::from(id.0), 1);
}

/// Pushes an integer with at least `least` digits.
fn push_integer(out: &mut Vec<u8>, mut value: u64, least: usize) {
    const MOST: usize = 20;
    let mut digits = [b'0'; MOST];
    let mut first = MOST;
    // A digit less each time; 20 hold any.
    while value > 0 {
        first -= 1;
        digits[first] = b'0' + (value % 10) as u8;
        value /= 10;
    }
    out.extend_from_slice(&digits[first.min(MOST - least)..]);
}

/// Pushes a real number, rounded to `DECIMALS`, in its shortest form with the point Part 21 wants.
fn push_real<const DECIMALS: u32>(out: &mut Vec<u8>, value: f64) {
    let scale = 10_u64.pow(DECIMALS);
    let scaled = (value.abs() * scale as f64).round();
    // Beyond 2^53 a double holds no such decimals: its own shortest form says all it knows.
    if scaled >= 9e15 {
        push_exponential(out, value);
        return;
    }
    let digits = scaled as u64;
    // A rounded zero has no sign, whatever side it came from.
    if value < 0.0 && digits > 0 {
        out.push(b'-');
    }
    push_integer(out, digits / scale, 1);
    out.push(b'.');
    let mut fraction = digits % scale;
    let mut places = DECIMALS as usize;
    // A digit less each time.
    while fraction > 0 && fraction.is_multiple_of(10) {
        fraction /= 10;
        places -= 1;
    }
    if fraction > 0 {
        push_integer(out, fraction, places);
    }
}

fn push_exponential(out: &mut Vec<u8>, value: f64) {
    let text = format!("{value:E}");
    let (mantissa, exponent) = text.split_once('E').unwrap_or((&text, "0"));
    out.extend(mantissa.as_bytes());
    if !mantissa.contains('.') {
        out.push(b'.');
    }
    out.push(b'E');
    out.extend(exponent.as_bytes());
}

/// A string literal: apostrophes and backslashes doubled, all but printable ASCII by code point.
pub(super) fn string(text: &str) -> String {
    let mut literal = String::with_capacity(text.len() + 2);
    literal.push('\'');
    let mut open = "";
    for c in text.chars() {
        let mode = match u32::from(c) {
            0x20..=0x7e => "",
            0..=0xffff => "\\X2\\",
            _ => "\\X4\\",
        };
        if mode != open {
            if !open.is_empty() {
                literal.push_str("\\X0\\");
            }
            literal.push_str(mode);
            open = mode;
        }
        match (mode, c) {
            ("", '\'') => literal.push_str("''"),
            ("", '\\') => literal.push_str("\\\\"),
            ("", c) => literal.push(c),
            ("\\X2\\", c) => literal.push_str(&format!("{:04X}", u32::from(c))),
            (_, c) => literal.push_str(&format!("{:08X}", u32::from(c))),
        }
    }
    if !open.is_empty() {
        literal.push_str("\\X0\\");
    }
    literal.push('\'');
    literal
}

#[cfg(test)]
mod tests {
    use super::*;

    fn real(value: f64) -> String {
        let mut out = Vec::new();
        push_real::<LENGTH_DECIMALS>(&mut out, value);
        String::from_utf8(out).unwrap()
    }

    #[test]
    fn reals_are_short_and_have_a_point() {
        assert_eq!(real(0.0), "0.");
        assert_eq!(real(-0.0), "0.");
        assert_eq!(real(-4e-11), "0.");
        assert_eq!(real(100.0), "100.");
        assert_eq!(real(-7.9375), "-7.9375");
        assert_eq!(real(0.1 + 0.2), "0.3");
        assert_eq!(real(1e-10), "0.0000000001");
        assert_eq!(real(-12.05), "-12.05");
        assert_eq!(real(899_999.25), "899999.25");
        assert_eq!(real(1e6), "1.E6");
        assert_eq!(real(-1.5e300), "-1.5E300");
    }

    #[test]
    fn strings_are_escaped() {
        assert_eq!(string("feed-1"), "'feed-1'");
        assert_eq!(string("o'clock \\ x"), "'o''clock \\\\ x'");
        assert_eq!(string("Rohr Ø5"), "'Rohr \\X2\\00D8\\X0\\5'");
        assert_eq!(string("\u{6c34}\u{1f527}\n"), "'\\X2\\6C34\\X0\\\\X4\\0001F527\\X0\\\\X2\\000A\\X0\\'");
    }

    #[test]
    fn equal_entities_are_written_once_within_a_part() {
        let meta = Meta { title: "t".into(), mark: "BCDFGH".into(), timestamp: 0 };
        let mut out = Vec::new();
        let mut file = Part21::start(&mut out, "n", &meta);
        let a = file.entity("DIRECTION").unnamed().ratios([1.0, 0.0, -0.0]).shared();
        let b = file.entity("DIRECTION").unnamed().ratios([1.0, 1e-17, 0.0]).shared();
        assert_eq!(a, b);
        file.end_part().unwrap();
        let c = file.entity("DIRECTION").unnamed().ratios([1.0, 0.0, 0.0]).shared();
        assert_ne!(a, c);
        file.finish().unwrap();
        let text = String::from_utf8(out).unwrap();
        assert_eq!(text.matches("=DIRECTION('',(1.,0.,0.));").count(), 2, "{text}");
        assert!(text.contains("FILE_NAME('n','1970-01-01T00:00:00',(''),(''),"), "{text}");
    }
}
