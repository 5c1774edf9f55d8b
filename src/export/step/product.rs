//! Products, colours and occurrences: what a CAD program shows in its tree.

use super::brep;
use super::part21::{Id, Part21};
use crate::geometry::{Point3, Vector3};
use crate::palette::Rgb;
use crate::solid::{Placement, Solid};

/// Entities that every product of a file refers to.
pub(super) struct Contexts {
    product: Id,
    definition: Id,
    geometry: Id,
}

/// A product that has been written.
#[derive(Debug, Clone, Copy)]
pub(super) struct Product {
    definition: Id,
    representation: Id,
}

/// A product's identifier and its name.
#[derive(Debug, Clone, Copy)]
pub(super) struct ProductLabel<'n> {
    /// Unlike that of any other product.
    pub(super) id: &'n str,
    /// As shown.
    pub(super) name: &'n str,
}

/// Writes units and contexts: millimetres, radians, points nearer than 1e-7 mm the same.
pub(super) fn contexts(file: &mut Part21<'_>) -> Contexts {
    let application = file
        .entity("APPLICATION_CONTEXT")
        .string("core data for automotive mechanical design processes")
        .write();
    file.entity("APPLICATION_PROTOCOL_DEFINITION")
        .string("international standard")
        .string("automotive_design")
        .token("2000")
        .id(application)
        .write();
    let product = file.entity("PRODUCT_CONTEXT").unnamed().id(application).string("mechanical").write();
    let definition = file
        .entity("PRODUCT_DEFINITION_CONTEXT")
        .string("part definition")
        .id(application)
        .string("design")
        .write();
    let millimetre = file.verbatim("(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.))");
    let radian = file.verbatim("(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))");
    let steradian = file.verbatim("(NAMED_UNIT(*)SI_UNIT($,.STERADIAN.)SOLID_ANGLE_UNIT())");
    let uncertainty = file
        .entity("UNCERTAINTY_MEASURE_WITH_UNIT")
        .token("LENGTH_MEASURE(1.E-7)")
        .id(millimetre)
        .string("distance_accuracy_value")
        .string("points nearer than this are one")
        .write();
    let geometry = file.verbatim(&format!(
        "(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT(({uncertainty}))\
         GLOBAL_UNIT_ASSIGNED_CONTEXT(({millimetre},{radian},{steradian}))REPRESENTATION_CONTEXT('',''))"
    ));
    Contexts { product, definition, geometry }
}

/// Writes a part: its product, its solids, their colour.
pub(super) fn part(
    file: &mut Part21<'_>,
    contexts: &Contexts,
    label: ProductLabel<'_>,
    solids: &[Solid],
    colour: Rgb,
) -> Product {
    let breps: Vec<Id> = solids.iter().map(|solid| brep::solid(file, label.name, solid)).collect();
    let origin = brep::placement(file, &WORLD);
    let items: Vec<Id> = [origin].into_iter().chain(breps.iter().copied()).collect();
    let representation = file
        .entity("ADVANCED_BREP_SHAPE_REPRESENTATION")
        .string(label.name)
        .ids(&items)
        .id(contexts.geometry)
        .write();
    breps.into_iter().for_each(|brep| paint(file, contexts, brep, colour));
    let definition = define(file, contexts, label, representation);
    Product { definition, representation }
}

/// Writes the product entities around a representation; returns the product definition.
fn define(file: &mut Part21<'_>, contexts: &Contexts, label: ProductLabel<'_>, representation: Id) -> Id {
    let product =
        file.entity("PRODUCT").string(label.id).string(label.name).unnamed().ids(&[contexts.product]).write();
    file.entity("PRODUCT_RELATED_PRODUCT_CATEGORY").string("part").token("$").ids(&[product]).write();
    let formation = file.entity("PRODUCT_DEFINITION_FORMATION").unnamed().unnamed().id(product).write();
    let definition = file
        .entity("PRODUCT_DEFINITION")
        .string("design")
        .unnamed()
        .id(formation)
        .id(contexts.definition)
        .write();
    let shape = file.entity("PRODUCT_DEFINITION_SHAPE").unnamed().unnamed().id(definition).write();
    file.entity("SHAPE_DEFINITION_REPRESENTATION").id(shape).id(representation).write();
    definition
}

/// Gives a solid a surface colour. STEP does not say so, but programs take the numbers as sRGB.
fn paint(file: &mut Part21<'_>, contexts: &Contexts, item: Id, colour: Rgb) {
    let [red, green, blue] = colour.unit();
    let rgb = file.entity("COLOUR_RGB").unnamed().ratio(red).ratio(green).ratio(blue).write();
    let fill = file.entity("FILL_AREA_STYLE_COLOUR").unnamed().id(rgb).write();
    let area = file.entity("FILL_AREA_STYLE").unnamed().ids(&[fill]).write();
    let surface = file.entity("SURFACE_STYLE_FILL_AREA").id(area).write();
    let side = file.entity("SURFACE_SIDE_STYLE").unnamed().ids(&[surface]).write();
    let usage = file.entity("SURFACE_STYLE_USAGE").token(".BOTH.").id(side).write();
    let style = file.entity("PRESENTATION_STYLE_ASSIGNMENT").ids(&[usage]).write();
    let styled = file.entity("STYLED_ITEM").string("colour").ids(&[style]).id(item).write();
    file.entity("MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION")
        .unnamed()
        .ids(&[styled])
        .id(contexts.geometry)
        .write();
}

/// An assembly being written: parts are placed in it one by one.
pub(super) struct Assembly {
    definition: Id,
    representation: Id,
    placements: Vec<Id>,
}

impl Assembly {
    /// Writes the assembly's product.
    pub(super) fn start(file: &mut Part21<'_>, contexts: &Contexts, label: ProductLabel<'_>) -> Self {
        // Written last, since it lists where every part sits.
        let representation = file.reserve();
        let definition = define(file, contexts, label, representation);
        Assembly { definition, representation, placements: Vec::new() }
    }

    /// Places a part under this name: the space it was modelled in lies there in the assembly's.
    pub(super) fn place(
        &mut self,
        file: &mut Part21<'_>,
        part: Product,
        label: ProductLabel<'_>,
        at: &Placement,
    ) {
        let usage = file
            .entity("NEXT_ASSEMBLY_USAGE_OCCURRENCE")
            .string(label.id)
            .string(label.name)
            .unnamed()
            .id(self.definition)
            .id(part.definition)
            .token("$")
            .write();
        let shape = file.entity("PRODUCT_DEFINITION_SHAPE").unnamed().unnamed().id(usage).write();
        let from = brep::placement(file, &WORLD);
        // A placement of its own, so that moving one part in a CAD program moves no other.
        let to = brep::own_placement(file, at);
        self.placements.push(to);
        let transformation =
            file.entity("ITEM_DEFINED_TRANSFORMATION").unnamed().unnamed().id(from).id(to).write();
        let (child, parent) = (part.representation, self.representation);
        let relationship = file.verbatim(&format!(
            "(REPRESENTATION_RELATIONSHIP('','',{child},{parent})\
             REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION({transformation})\
             SHAPE_REPRESENTATION_RELATIONSHIP())"
        ));
        file.entity("CONTEXT_DEPENDENT_SHAPE_REPRESENTATION").id(relationship).id(shape).write();
    }

    /// Writes the assembly's own representation.
    pub(super) fn finish(self, file: &mut Part21<'_>, contexts: &Contexts, name: &str) {
        let mut items = vec![brep::own_placement(file, &WORLD)];
        items.extend(self.placements);
        file.entity("SHAPE_REPRESENTATION")
            .string(name)
            .ids(&items)
            .id(contexts.geometry)
            .write_as(self.representation);
    }
}

/// The assembly's own space.
pub(super) const WORLD: Placement = Placement {
    origin: Point3::new(0.0, 0.0, 0.0),
    axis: Vector3::new(0.0, 0.0, 1.0),
    x: Vector3::new(1.0, 0.0, 0.0),
};
