//! The frame of a DXF file around its entities: header, tables, blocks and objects. Every table and
//! record has a handle and an owner, so that a strict reader finds nothing to repair.

use super::tags::Tags;
use super::{LAYERS, Meta};
use crate::drawing::item::Point;
use crate::export::mark;

/// Handle of the model space's block record, the owner of every entity.
pub(super) const MODEL_SPACE: u32 = 0x1F;
const PAPER_SPACE: u32 = 0x1B;
const ROOT_DICTIONARY: u32 = 0xC;
const GROUP_DICTIONARY: u32 = 0xD;
/// Handles from here on are counted up.
pub(super) const FIRST_FREE_HANDLE: u32 = 0x40;

/// Name of the one text style.
pub(super) const TEXT_STYLE: &str = "Standard";

/// The table that holds block records; its handle is referred to by them.
const BLOCK_RECORDS: u32 = 0x1;

/// The program, as the comment at the beginning names it.
const PROGRAM: &str = concat!(env!("CARGO_PKG_NAME"), " ", env!("CARGO_PKG_VERSION"));

/// Julian date of 1970-01-01 00:00 UTC.
const EPOCH_JULIAN: f64 = 2_440_587.5;

/// Identities that never change: nothing of ours tells files apart by them.
const NIL_GUID: &str = "{00000000-0000-0000-0000-000000000000}";

/// A whole file with these entities. Entities take handles first, so that the header, which comes
/// before them, can name the next free one.
pub(super) fn around(entities: &Tags, extents: (Point, Point), meta: &Meta) -> Tags {
    let mut rest = Tags::starting_at(entities.next_handle());
    section(&mut rest, "CLASSES", |_| {});
    section(&mut rest, "TABLES", |tags| tables(tags, extents));
    section(&mut rest, "BLOCKS", |tags| {
        block(tags, "*Model_Space", MODEL_SPACE);
        block(tags, "*Paper_Space", PAPER_SPACE);
    });
    section(&mut rest, "ENTITIES", |tags| tags.append(entities));
    section(&mut rest, "OBJECTS", objects);
    rest.text(0, "EOF");

    let mut file = Tags::starting_at(rest.next_handle());
    // A comment: the one place for words that no reader shows or trips over.
    file.text(999, format_args!("{}, {}", PROGRAM, mark::words(&meta.mark)));
    section(&mut file, "HEADER", |tags| header(tags, extents, meta, rest.next_handle()));
    file.append(&rest);
    file
}

fn section(tags: &mut Tags, name: &str, fill: impl FnOnce(&mut Tags)) {
    tags.text(0, "SECTION");
    tags.text(2, name);
    fill(tags);
    tags.text(0, "ENDSEC");
}

fn header(tags: &mut Tags, (min, max): (Point, Point), meta: &Meta, seed: u32) {
    let julian = EPOCH_JULIAN + meta.timestamp as f64 / 86_400.0;
    let variable = |tags: &mut Tags, name: &str| tags.text(9, name);
    variable(tags, "$ACADVER");
    tags.text(1, "AC1024");
    variable(tags, "$DWGCODEPAGE");
    tags.text(3, "ANSI_1252");
    // Millimetres, and the metric set of patterns: the two must agree.
    variable(tags, "$INSUNITS");
    tags.text(70, 4);
    variable(tags, "$MEASUREMENT");
    tags.text(70, 1);
    // Decimal lengths and degrees.
    variable(tags, "$LUNITS");
    tags.text(70, 2);
    variable(tags, "$AUNITS");
    tags.text(70, 0);
    variable(tags, "$EXTMIN");
    tags.point(10, min);
    variable(tags, "$EXTMAX");
    tags.point(10, max);
    for (name, at) in [("$LIMMIN", min), ("$LIMMAX", max)] {
        variable(tags, name);
        tags.length(10, at.x);
        tags.length(20, at.y);
    }
    variable(tags, "$CLAYER");
    tags.text(8, "0");
    variable(tags, "$TEXTSTYLE");
    tags.text(7, TEXT_STYLE);
    for name in ["$TDCREATE", "$TDUCREATE", "$TDUPDATE", "$TDUUPDATE"] {
        variable(tags, name);
        tags.length(40, julian);
    }
    for name in ["$FINGERPRINTGUID", "$VERSIONGUID"] {
        variable(tags, name);
        tags.text(2, NIL_GUID);
    }
    variable(tags, "$HANDSEED");
    tags.text(5, format_args!("{seed:X}"));
}

fn tables(tags: &mut Tags, extents: (Point, Point)) {
    table(tags, "VPORT", 0x8, &["*Active"], "AcDbViewportTableRecord", |tags, _| viewport(tags, extents));
    table(
        tags,
        "LTYPE",
        0x5,
        &["ByBlock", "ByLayer", "Continuous"],
        "AcDbLinetypeTableRecord",
        |tags, name| {
            tags.text(70, 0);
            tags.text(3, if name == "Continuous" { "Solid line" } else { "" });
            tags.text(72, 65);
            tags.text(73, 0);
            tags.length(40, 0.0);
        },
    );
    let layers: Vec<&str> = std::iter::once("0").chain(LAYERS.iter().map(|l| l.name)).collect();
    table(tags, "LAYER", 0x2, &layers, "AcDbLayerTableRecord", |tags, name| {
        let colour = LAYERS.iter().find(|l| l.name == name).map_or(7, |l| l.colour);
        tags.text(70, 0);
        tags.text(62, colour);
        tags.text(6, "Continuous");
        tags.text(370, -3);
    });
    table(tags, "STYLE", 0x3, &[TEXT_STYLE], "AcDbTextStyleTableRecord", |tags, _| {
        tags.text(70, 0);
        tags.length(40, 0.0);
        tags.length(41, 1.0);
        tags.length(50, 0.0);
        tags.text(71, 0);
        tags.length(42, 2.5);
        tags.text(3, "txt");
        tags.text(4, "");
    });
    table(tags, "VIEW", 0x6, &[], "AcDbViewTableRecord", |_, _| {});
    table(tags, "UCS", 0x7, &[], "AcDbUCSTableRecord", |_, _| {});
    table(tags, "APPID", 0x9, &["ACAD"], "AcDbRegAppTableRecord", |tags, _| tags.text(70, 0));
    dimension_styles(tags);
    block_records(tags);
}

fn open_table(tags: &mut Tags, name: &str, handle: u32, count: usize) {
    tags.text(0, "TABLE");
    tags.text(2, name);
    tags.known_handle(handle);
    tags.owner(0);
    tags.text(100, "AcDbSymbolTable");
    tags.text(70, count);
}

fn table(
    tags: &mut Tags,
    name: &str,
    handle: u32,
    records: &[&str],
    class: &str,
    fill: impl Fn(&mut Tags, &str),
) {
    open_table(tags, name, handle, records.len());
    for record in records {
        tags.text(0, name);
        tags.handle();
        tags.owner(handle);
        tags.text(100, "AcDbSymbolTableRecord");
        tags.text(100, class);
        tags.text(2, record);
        fill(tags, record);
    }
    tags.text(0, "ENDTAB");
}

/// The dimension style table differs from all others: its records carry their handle in group 105.
fn dimension_styles(tags: &mut Tags) {
    const HANDLE: u32 = 0xA;
    const RECORD: u32 = 0x27;
    open_table(tags, "DIMSTYLE", HANDLE, 1);
    tags.text(100, "AcDbDimStyleTable");
    tags.text(71, 1);
    tags.text(340, format_args!("{RECORD:X}"));
    tags.text(0, "DIMSTYLE");
    tags.text(105, format_args!("{RECORD:X}"));
    tags.owner(HANDLE);
    tags.text(100, "AcDbSymbolTableRecord");
    tags.text(100, "AcDbDimStyleTableRecord");
    tags.text(2, TEXT_STYLE);
    tags.text(70, 0);
    tags.text(0, "ENDTAB");
}

fn block_records(tags: &mut Tags) {
    open_table(tags, "BLOCK_RECORD", BLOCK_RECORDS, 2);
    for (name, handle) in [("*Model_Space", MODEL_SPACE), ("*Paper_Space", PAPER_SPACE)] {
        tags.text(0, "BLOCK_RECORD");
        tags.known_handle(handle);
        tags.owner(BLOCK_RECORDS);
        tags.text(100, "AcDbSymbolTableRecord");
        tags.text(100, "AcDbBlockTableRecord");
        tags.text(2, name);
        tags.text(340, 0);
        // Millimetres, may be exploded, may be scaled.
        tags.text(70, 4);
        tags.text(280, 1);
        tags.text(281, 0);
    }
    tags.text(0, "ENDTAB");
}

/// A window that shows everything when the file is opened.
fn viewport(tags: &mut Tags, (min, max): (Point, Point)) {
    let width = (max.x - min.x).max(1.0);
    let height = (max.y - min.y).max(1.0);
    tags.text(70, 0);
    for (code, x, y) in [
        (10, 0.0, 0.0),
        (11, 1.0, 1.0),
        (12, (min.x + max.x) / 2.0, (min.y + max.y) / 2.0),
        (13, 0.0, 0.0),
        (14, 10.0, 10.0),
        (15, 10.0, 10.0),
    ] {
        tags.length(code, x);
        tags.length(code + 10, y);
    }
    tags.length(16, 0.0);
    tags.length(26, 0.0);
    tags.length(36, 1.0);
    tags.point(17, Point::new(0.0, 0.0));
    tags.length(40, 1.05 * height.max(width / 1.5));
    tags.length(41, 1.5);
    tags.length(42, 50.0);
}

fn block(tags: &mut Tags, name: &str, record: u32) {
    tags.text(0, "BLOCK");
    tags.handle();
    tags.owner(record);
    tags.text(100, "AcDbEntity");
    tags.text(8, "0");
    tags.text(100, "AcDbBlockBegin");
    tags.text(2, name);
    tags.text(70, 0);
    tags.point(10, Point::new(0.0, 0.0));
    tags.text(3, name);
    tags.text(1, "");
    tags.text(0, "ENDBLK");
    tags.handle();
    tags.owner(record);
    tags.text(100, "AcDbEntity");
    tags.text(8, "0");
    tags.text(100, "AcDbBlockEnd");
}

fn objects(tags: &mut Tags) {
    dictionary(tags, ROOT_DICTIONARY, 0);
    tags.text(3, "ACAD_GROUP");
    tags.text(350, format_args!("{GROUP_DICTIONARY:X}"));
    dictionary(tags, GROUP_DICTIONARY, ROOT_DICTIONARY);
}

fn dictionary(tags: &mut Tags, handle: u32, owner: u32) {
    tags.text(0, "DICTIONARY");
    tags.known_handle(handle);
    tags.owner(owner);
    tags.text(100, "AcDbDictionary");
    tags.text(281, 1);
}
