//! `workshop:`, what forms and jigs are made with.

use crate::diagnostic::Span;
use crate::spec::fields::{Fields, Reader, UnitFrom};
use crate::spec::keys::{self, Table};
use crate::spec::model::{FormOptions, JigOptions, Printer, SheetStock, Strap, Workshop};
use crate::spec::node::{Node, Scalar, Value};

/// Widest cut there is, in thicknesses of the sheet: a wider one is a slip of the unit or the point.
const WIDEST_KERF: f64 = 2.0;

/// Tightest press fit, as a part of the sheet's thickness: no tab goes into a slot that is narrower still.
const TIGHTEST_FIT: f64 = 0.5;

/// Reads `workshop:`; what is left out or faulty is as in the default.
pub(super) fn workshop(reader: &mut Reader, node: &Node, place: Span) -> Workshop {
    let mut shop = Workshop { place: Some(place), ..Workshop::default() };
    let Some(fields) = reader.fields(node, &keys::WORKSHOP, place) else { return shop };
    if let Some(fields) = part(reader, &fields, "sheet", &keys::SHEET) {
        sheet(reader, &fields, &mut shop.sheet);
    }
    if let Some(fields) = part(reader, &fields, "printer", &keys::PRINTER) {
        printer(reader, &fields, &mut shop.printer);
    }
    shop.dowel = reader.length(&fields, "dowel");
    shop.bolt_hole = reader.length(&fields, "bolt_hole");
    if let Some(fields) = part(reader, &fields, "form", &keys::FORM) {
        form(reader, &fields, &mut shop.form);
    }
    if let Some(fields) = part(reader, &fields, "jig", &keys::JIG) {
        jig(reader, &fields, &mut shop.jig);
    }
    shop
}

fn part<'n>(
    reader: &mut Reader,
    fields: &Fields<'n>,
    key: &'static str,
    table: &'static Table,
) -> Option<Fields<'n>> {
    let (_, node) = reader.value(fields, key)?;
    reader.fields(node, table, fields.place_of(key))
}

/// Puts a length in its place, where it is written and sound.
fn length(reader: &mut Reader, fields: &Fields<'_>, key: &'static str, into: &mut f64) {
    if let Some(length) = reader.length(fields, key) {
        *into = length;
    }
}

fn sheet(reader: &mut Reader, fields: &Fields<'_>, sheet: &mut SheetStock) {
    length(reader, fields, "thickness", &mut sheet.thickness);
    if let Some([width, height]) = reader.lengths(fields, "size") {
        (sheet.width, sheet.height) = (width, height);
    }
    length(reader, fields, "spacing", &mut sheet.spacing);
    length(reader, fields, "kerf", &mut sheet.kerf);
    length(reader, fields, "slot_fit", &mut sheet.slot_fit);
    if sheet.kerf > WIDEST_KERF * sheet.thickness && reader.unit_from != UnitFrom::Unreadable {
        let [kerf, thickness] = [sheet.kerf, sheet.thickness].map(|mm| reader.unit.length(mm));
        let message = format!("a cut {kerf} wide in a sheet of {thickness}");
        let at = if fields.has("kerf") { "kerf" } else { "thickness" };
        let usual = reader.unit.length_to(0.2, 1);
        let hint =
            format!("`kerf` is the width of the cut, about {usual} for a laser; check both and their units");
        reader.error("out-of-range", fields.value_place(at), message, hint);
    }
    check_fit(reader, fields, sheet);
}

/// Notes a press fit that no sheet of this thickness goes into.
fn check_fit(reader: &mut Reader, fields: &Fields<'_>, sheet: &SheetStock) {
    if -sheet.slot_fit <= TIGHTEST_FIT * sheet.thickness || reader.unit_from == UnitFrom::Unreadable {
        return;
    }
    let unit = reader.unit;
    let [narrower, thickness] = [-sheet.slot_fit, sheet.thickness].map(|mm| unit.length(mm));
    let message = format!("slots {narrower} narrower than a sheet of {thickness}");
    let hint = format!(
        "`slot_fit` is how much wider a slot is than the sheet, about {}, or {} for a press fit; check both and \
         their units",
        unit.length_to(0.1, 1),
        unit.number_to(-0.05, 2)
    );
    reader.error("out-of-range", fields.value_place("slot_fit"), message, hint);
}

fn printer(reader: &mut Reader, fields: &Fields<'_>, printer: &mut Printer) {
    if let Some(bed) = reader.lengths(fields, "bed") {
        printer.bed = bed;
    }
    length(reader, fields, "hole_fit", &mut printer.hole_fit);
}

fn form(reader: &mut Reader, fields: &Fields<'_>, form: &mut FormOptions) {
    length(reader, fields, "clearance", &mut form.clearance);
    if let Some(depth) = reader.number(fields, "depth") {
        form.depth = depth;
    }
    if let Some(angle) = reader.angle(fields, "over_bend") {
        form.over_bend = angle;
    }
    let Some((_, node)) = reader.value(fields, "strap") else { return };
    form.strap = match &node.value {
        Value::Scalar(Scalar { text, .. }) if text == "none" => None,
        Value::Map(_) => strap(reader, node, fields.place_of("strap")),
        _ => {
            reader.wrong_type(node, "{width: ..., thickness: ...} or none");
            None
        }
    };
}

fn strap(reader: &mut Reader, node: &Node, place: Span) -> Option<Strap> {
    let fields = reader.fields(node, &keys::STRAP, place)?;
    let (width, thickness) = (reader.length(&fields, "width"), reader.length(&fields, "thickness"));
    Some(Strap { width: width?, thickness: thickness? })
}

fn jig(reader: &mut Reader, fields: &Fields<'_>, jig: &mut JigOptions) {
    length(reader, fields, "clearance", &mut jig.clearance);
    length(reader, fields, "lift", &mut jig.lift);
    length(reader, fields, "gate", &mut jig.gate);
}
