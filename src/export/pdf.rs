//! PDF: sheets at full size, drawn natively in points.
//!
//! Built on lopdf alone: a page is one stream of a dozen operators, and this way every number is
//! rounded once from f64, the file's `/ID` is ours to fix, and print scaling can be switched off.

mod page;

use std::borrow::Borrow;
use std::io::Write as _;

use flate2::Compression;
use flate2::write::ZlibEncoder;
use lopdf::{Dictionary, Document, Object, ObjectId, Stream, StringFormat, dictionary};

use super::Meta;
use super::date::moment;
use crate::drawing::sheet::Sheet;

/// Points in a millimetre: 72 to the inch of 25.4 mm (ISO 32000-1, 8.3.2.3).
const POINTS_PER_MM: f64 = 72.0 / 25.4;

/// How hard pages are compressed, of 9.
const LEVEL: u32 = 5;

/// The sheets as pages in their order, each with a bookmark. Where one of them is to be printed at
/// full size, print dialogues are told not to scale and to choose the paper by the page
/// (`/PrintScaling /None`, `/PickTrayByPDFSize`; ISO 32000-1, table 150).
pub fn render<S: Borrow<Sheet>>(sheets: impl IntoIterator<Item = S>, meta: &Meta) -> Vec<u8> {
    let mut document = Document::with_version("1.7");
    let pages_id = document.new_object_id();
    let resources = resources(&mut document);
    let mut digest = Digest::new();
    digest.add(meta.title.as_bytes());
    digest.add(meta.mark.as_bytes());
    digest.add(&meta.timestamp.to_le_bytes());
    let (mut pages, mut full_size) = (Vec::new(), false);
    for sheet in sheets {
        let sheet = sheet.borrow();
        full_size |= sheet.full_size;
        let content = page::content(sheet);
        digest.add(&content);
        let content_id = document.add_object(compressed(content));
        let page = document.add_object(dictionary! {
            "Type" => "Page",
            "Parent" => pages_id,
            "MediaBox" => vec![0.into(), 0.into(), real(sheet.width), real(sheet.height)],
            "Resources" => resources,
            "Contents" => content_id,
        });
        pages.push((sheet.name.clone(), page));
    }
    let count = i64::try_from(pages.len()).unwrap_or(i64::MAX);
    let kids: Vec<Object> = pages.iter().map(|&(_, id)| id.into()).collect();
    document.set_object(pages_id, dictionary! { "Type" => "Pages", "Kids" => kids, "Count" => count });
    let mut catalog = dictionary! {
        "Type" => "Catalog",
        "Pages" => pages_id,
    };
    if full_size {
        let preferences = dictionary! { "PrintScaling" => "None", "PickTrayByPDFSize" => true };
        catalog.set("ViewerPreferences", preferences);
    }
    if pages.len() > 1 {
        catalog.set("Outlines", bookmarks(&mut document, &pages));
    }
    let catalog_id = document.add_object(catalog);
    let info_id = document.add_object(info(meta));
    document.trailer.set("Root", catalog_id);
    document.trailer.set("Info", info_id);
    let id = Object::String(digest.bytes(), StringFormat::Hexadecimal);
    document.trailer.set("ID", vec![id.clone(), id]);
    let mut bytes = Vec::new();
    // Writing to memory does not fail.
    let _ = document.save_to(&mut bytes);
    bytes
}

/// A page's content as a compressed stream. A build of hundreds of runs spends most of its time here, and half the
/// time buys pages that are a few hundredths larger.
fn compressed(content: Vec<u8>) -> Stream {
    let mut encoder = ZlibEncoder::new(Vec::with_capacity(content.len() / 3), Compression::new(LEVEL));
    // Writing to memory does not fail.
    match encoder.write_all(&content).and_then(|()| encoder.finish()) {
        Ok(packed) => Stream::new(dictionary! { "Filter" => "FlateDecode" }, packed),
        Err(_) => Stream::new(Dictionary::new(), content),
    }
}

#[allow(clippy::cast_possible_truncation, reason = "a page size in points needs seven digits, f32 has them")]
fn real(millimetres: f64) -> Object {
    Object::Real((millimetres * POINTS_PER_MM) as f32)
}

/// Width and height (mm) of every page of a finished file, in order; empty where it cannot be read.
pub fn page_sizes(file: &[u8]) -> Vec<(f64, f64)> {
    let Ok(document) = Document::load_mem(file) else { return Vec::new() };
    let size = |page: ObjectId| {
        let media = document.get_dictionary(page).ok()?.get(b"MediaBox").ok()?.as_array().ok()?;
        let side =
            |index: usize| media.get(index)?.as_float().ok().map(|points| f64::from(points) / POINTS_PER_MM);
        Some((side(2)?, side(3)?))
    };
    document.get_pages().into_values().filter_map(size).collect()
}

fn resources(document: &mut Document) -> ObjectId {
    let mut face = |name: &str| {
        document.add_object(dictionary! {
            "Type" => "Font",
            "Subtype" => "Type1",
            "BaseFont" => name,
            "Encoding" => "WinAnsiEncoding",
        })
    };
    let (regular, bold) = (face("Helvetica"), face("Helvetica-Bold"));
    document.add_object(dictionary! { "Font" => dictionary! { "F1" => regular, "F2" => bold } })
}

fn info(meta: &Meta) -> Dictionary {
    let m = moment(meta.timestamp);
    let date =
        format!("D:{:04}{:02}{:02}{:02}{:02}{:02}Z", m.year, m.month, m.day, m.hour, m.minute, m.second);
    let date = Object::string_literal(date);
    dictionary! {
        "Title" => words(&meta.title),
        "Keywords" => Object::string_literal(super::mark::words(&meta.mark)),
        "Producer" => Object::string_literal("tubewright"),
        "CreationDate" => date.clone(),
        "ModDate" => date,
    }
}

/// A text string outside page contents: UTF-16 with its byte order mark (ISO 32000-1, 7.9.2.2).
fn words(text: &str) -> Object {
    let bytes = [0xFE, 0xFF].into_iter().chain(text.encode_utf16().flat_map(u16::to_be_bytes)).collect();
    Object::String(bytes, StringFormat::Hexadecimal)
}

fn bookmarks(document: &mut Document, pages: &[(String, ObjectId)]) -> ObjectId {
    let root = document.new_object_id();
    let items: Vec<ObjectId> = pages.iter().map(|_| document.new_object_id()).collect();
    for (index, (&id, (name, page))) in items.iter().zip(pages).enumerate() {
        let mut item = dictionary! {
            "Title" => words(name),
            "Parent" => root,
            "Dest" => vec![(*page).into(), Object::Name(b"Fit".to_vec())],
        };
        if let Some(&before) = index.checked_sub(1).and_then(|i| items.get(i)) {
            item.set("Prev", before);
        }
        if let Some(&after) = items.get(index + 1) {
            item.set("Next", after);
        }
        document.set_object(id, item);
    }
    let count = i64::try_from(items.len()).unwrap_or(i64::MAX);
    let mut outline = dictionary! { "Type" => "Outlines", "Count" => count };
    if let (Some(&first), Some(&last)) = (items.first(), items.last()) {
        outline.set("First", first);
        outline.set("Last", last);
    }
    document.set_object(root, outline);
    root
}

/// 128 bits that name the contents: two FNV-1a sums with different starts. Only to tell files
/// apart, as `/ID` wants; not for security.
struct Digest([u64; 2]);

impl Digest {
    fn new() -> Self {
        Digest([0xcbf2_9ce4_8422_2325, 0x6c62_272e_07bb_0142])
    }

    fn add(&mut self, bytes: &[u8]) {
        for sum in &mut self.0 {
            for &byte in bytes {
                *sum = (*sum ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
            }
        }
    }

    fn bytes(&self) -> Vec<u8> {
        self.0.iter().flat_map(|sum| sum.to_be_bytes()).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::item::{Drawing, Point, Role};

    fn meta() -> Meta {
        Meta { title: "Grün 中".to_owned(), mark: "BCDFGH".to_owned(), timestamp: 1_700_000_000 }
    }

    fn sheets() -> Vec<Sheet> {
        let mut drawing = Drawing::new();
        drawing.line(Role::TubeEdge, Point::new(10.0, 10.0), Point::new(110.0, 10.0));
        vec![Sheet::new("one", 210.0, 297.0, drawing.clone()), Sheet::new("two", 420.0, 297.0, drawing)]
    }

    #[test]
    fn pages_have_their_sizes_and_the_viewer_is_told_not_to_scale() {
        let document = Document::load_mem(&render(sheets(), &meta())).expect("readable");
        let pages = document.get_pages();
        assert_eq!(pages.len(), 2);
        let page = document.get_dictionary(pages[&1]).unwrap();
        let media = page.get(b"MediaBox").unwrap().as_array().unwrap();
        assert!((media[2].as_float().unwrap() - 595.276).abs() < 1e-3);
        assert!((media[3].as_float().unwrap() - 841.890).abs() < 1e-3);
        let preferences = document.catalog().unwrap().get(b"ViewerPreferences").unwrap().as_dict().unwrap();
        assert_eq!(preferences.get(b"PrintScaling").unwrap().as_name().unwrap(), b"None");
    }

    #[test]
    fn the_pages_of_a_finished_file_can_be_measured() {
        let sizes = page_sizes(&render(sheets(), &meta()));
        let rounded: Vec<(f64, f64)> = sizes.iter().map(|(w, h)| (w.round(), h.round())).collect();
        assert_eq!(rounded, [(210.0, 297.0), (420.0, 297.0)]);
        assert!(page_sizes(b"no such file").is_empty());
    }

    #[test]
    fn a_picture_may_be_fitted_to_the_paper() {
        let pictures: Vec<Sheet> =
            sheets().into_iter().map(|sheet| Sheet { full_size: false, ..sheet }).collect();
        let document = Document::load_mem(&render(&pictures, &meta())).expect("readable");
        assert!(!document.catalog().unwrap().has(b"ViewerPreferences"));
        assert_eq!(document.version, "1.7");
    }

    #[test]
    fn same_input_same_bytes_and_other_content_another_id() {
        assert_eq!(render(sheets(), &meta()), render(sheets(), &meta()));
        let other = Meta { title: "other".to_owned(), ..meta() };
        let id = |bytes: &[u8]| {
            let document = Document::load_mem(bytes).expect("readable");
            document.trailer.get(b"ID").unwrap().as_array().unwrap()[0].as_str().unwrap().to_vec()
        };
        assert_ne!(id(&render(sheets(), &meta())), id(&render(sheets(), &other)));
        assert_eq!(id(&render(sheets(), &meta())).len(), 16);
    }

    #[test]
    fn dates_follow_the_meta() {
        let bytes = render(sheets(), &meta());
        let document = Document::load_mem(&bytes).expect("readable");
        let info =
            document.get_dictionary(document.trailer.get(b"Info").unwrap().as_reference().unwrap()).unwrap();
        assert_eq!(info.get(b"CreationDate").unwrap().as_str().unwrap(), b"D:20231114221320Z");
    }

    #[test]
    fn no_sheets_is_an_empty_file_not_a_fault() {
        assert!(Document::load_mem(&render(&[], &meta())).is_ok());
    }
}
