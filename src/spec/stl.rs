//! The triangles of an STL file, binary or ASCII.
//!
//! The STL library reads the triangles. The format is told from the bytes here: programs write "solid" at the start of
//! binary files too, and ASCII files with an empty name, in capitals, or with several solids.

use std::io::{self, Cursor};

use stl_io::{Triangle, create_stl_reader};
use thiserror::Error;

/// Bytes before the first triangle of a binary file: a header of any content and the number of triangles.
const HEADER: usize = 80;
/// Bytes before the first triangle.
const START: usize = HEADER + 4;
/// Bytes of a triangle.
const TRIANGLE: usize = 50;

/// Stands before a text that some editors wrote.
const BYTE_ORDER_MARK: &[u8] = b"\xEF\xBB\xBF";

/// Why bytes are no STL file.
#[derive(Debug, Error)]
pub(super) enum StlFault {
    /// No bytes.
    #[error("it is empty")]
    Empty,
    /// Less of a binary file than it says, or more; some other file with zeros in it.
    #[error("it is no whole STL file: it says that it holds {said} triangles and has the length of {held}")]
    Length {
        /// Triangles by its header.
        said: usize,
        /// Whole triangles that are there.
        held: usize,
    },
    /// Neither form.
    #[error("it is no STL file")]
    Unknown,
    /// A triangle that cannot be read.
    #[error("triangle {number} cannot be read: {why}")]
    Triangle {
        /// Counted from 1.
        number: usize,
        /// Why.
        why: io::Error,
    },
}

/// The corners of every triangle, in the numbers of the file.
pub(super) fn triangles(bytes: &[u8]) -> Result<Vec<[[f32; 3]; 3]>, StlFault> {
    if bytes.is_empty() {
        return Err(StlFault::Empty);
    }
    let said = bytes.get(HEADER..START).and_then(|count| count.try_into().ok());
    let said = said.map(|count: [u8; 4]| u32::from_le_bytes(count) as usize);
    let held = bytes.len().saturating_sub(START) / TRIANGLE;
    match said {
        Some(said) if bytes.len() == START + held * TRIANGLE && said == held => read(binary(bytes)),
        _ if is_text(bytes) => read(ascii(bytes)),
        // Some programs write their own data behind the triangles.
        Some(said) if (1..=held).contains(&said) => read(binary(bytes)),
        Some(said) if bytes.contains(&0) => Err(StlFault::Length { said, held }),
        _ => Err(StlFault::Unknown),
    }
}

/// Whether the bytes begin as an ASCII file does and hold no zero, of which every binary file has many.
fn is_text(bytes: &[u8]) -> bool {
    let text = bytes.strip_prefix(BYTE_ORDER_MARK).unwrap_or(bytes).trim_ascii_start();
    text.get(..5).is_some_and(|word| word.eq_ignore_ascii_case(b"solid")) && !bytes.contains(&0)
}

/// A binary file whose header says nothing, so that the library does not take it for an ASCII file.
fn binary(bytes: &[u8]) -> Vec<u8> {
    let mut blank = vec![0; HEADER];
    blank.extend_from_slice(bytes.get(HEADER..).unwrap_or_default());
    blank
}

/// An ASCII file of one solid without a name, in small letters, as the library takes it.
fn ascii(bytes: &[u8]) -> Vec<u8> {
    let bytes = bytes.strip_prefix(BYTE_ORDER_MARK).unwrap_or(bytes);
    let text = String::from_utf8_lossy(bytes).to_ascii_lowercase();
    let is_bracket = |line: &str| {
        let word = line.split_whitespace().next();
        matches!(word, None | Some("solid" | "endsolid"))
    };
    let mut one = String::from("solid \n");
    // `lines` alone would leave the carriage returns of the oldest files, which end no line.
    for line in text.split(['\n', '\r']).filter(|line| !is_bracket(line)) {
        one.push_str(line);
        one.push('\n');
    }
    one.push_str("endsolid\n");
    one.into_bytes()
}

fn read(file: Vec<u8>) -> Result<Vec<[[f32; 3]; 3]>, StlFault> {
    let mut file = Cursor::new(file);
    let corners = |triangle: Triangle| triangle.vertices.map(|corner| corner.0);
    let triangles = create_stl_reader(&mut file).map_err(|why| StlFault::Triangle { number: 1, why })?;
    (1..)
        .zip(triangles)
        .map(|(number, triangle)| triangle.map(corners).map_err(|why| StlFault::Triangle { number, why }))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const ONE: &str = "solid lid\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1.5 0 0\nvertex 0 2e1 0\nendloop\nendfacet\nendsolid lid\n";
    const CORNERS: [[f32; 3]; 3] = [[0.0; 3], [1.5, 0.0, 0.0], [0.0, 20.0, 0.0]];

    fn binary_file(header: &str, said: u32, triangles: &[[[f32; 3]; 3]]) -> Vec<u8> {
        let mut bytes = vec![b' '; HEADER];
        bytes[..header.len()].copy_from_slice(header.as_bytes());
        bytes.extend(said.to_le_bytes());
        for triangle in triangles {
            bytes.extend([0; 12]);
            bytes.extend(triangle.iter().flatten().flat_map(|number| number.to_le_bytes()));
            bytes.extend([0; 2]);
        }
        bytes
    }

    #[test]
    fn both_forms_are_told_apart_by_their_bytes() {
        let two = [CORNERS, [[1.0; 3], [2.0; 3], [3.0; 3]]];
        for header in ["", "solid made by a program", "SOLID"] {
            assert_eq!(triangles(&binary_file(header, 2, &two)).unwrap(), two, "{header}");
        }
        let mut longer = binary_file("", 1, &two);
        assert_eq!(triangles(&longer).unwrap(), two[..1]);
        longer.truncate(START + TRIANGLE + 1);
        assert_eq!(triangles(&longer).unwrap(), two[..1]);
        assert_eq!(triangles(&[BYTE_ORDER_MARK, ONE.as_bytes()].concat()).unwrap(), [CORNERS]);
        let mut upper = ONE.to_uppercase().replace('\n', "\r\n");
        assert_eq!(triangles(upper.as_bytes()).unwrap(), [CORNERS]);
        upper.push_str(&ONE.replace(" lid", "").replace('\n', "\n  "));
        assert_eq!(triangles(upper.as_bytes()).unwrap(), [CORNERS, CORNERS]);
    }

    #[test]
    fn what_is_no_stl_file_is_named() {
        let said = |bytes: &[u8]| triangles(bytes).unwrap_err().to_string();
        assert_eq!(said(b""), "it is empty");
        assert_eq!(said(b"ISO-10303-21;\nHEADER;\n"), "it is no STL file");
        let short = &binary_file("", 2, &[CORNERS, CORNERS])[..START + 60];
        assert_eq!(
            said(short),
            "it is no whole STL file: it says that it holds 2 triangles and has the length of 1"
        );
        let lame = said(ONE.replace("1.5", "1,5").as_bytes());
        assert!(lame.starts_with("triangle 1 cannot be read: "), "{lame}");
        assert!(said(ONE.replace("endfacet", "").as_bytes()).starts_with("triangle 1 cannot be read: "));
        // Letters of several bytes at the places where words are looked for.
        assert!(said("solid é\nfacet né\n".as_bytes()).starts_with("triangle 1 cannot be read: "));
    }
}
