//! The words of the bench sheet. Its steps are read in the order they are printed: work that would be spoiled by a later
//! step comes after it. The order is common practice, no source; it is written here a second time, apart from the sheet.
//! And what the tubes carry decides which tests and cautions there are.

use tubewright::build::{Options, Project};
use tubewright::drawing::item::ItemShape;
use tubewright::drawing::worksheet::worksheet;

/// The words of the pages whose name begins so, as they follow each other.
fn words(tube: &str, bender: &str, rest: &str, pages: &str) -> String {
    let text = format!(
        "format: 1\ntube: {tube}\nbender: {bender}\n{rest}\n\
         components:\n  tank: {{ports: {{out: {{at: [0, 0, 0], facing: [1, 0, 0], fitting: f}}}}}}\n  \
         pump: {{ports: {{in: {{at: [200, 150, 0], facing: [0, -1, 0], fitting: f}}}}}}\n\
         runs:\n  r: {{from: tank.out, to: pump.in, corners: [[200, 0, 0]], allowance: {{end: 5}}}}\n"
    );
    words_of(&text, pages)
}

/// The words of the pages of a spec whose name begins so, as they follow each other.
fn words_of(text: &str, pages: &str) -> String {
    let project = Project::read(text, "order.yaml").unwrap_or_else(|findings| panic!("{findings:?}\n{text}"));
    let paper = Options::default().print.paper;
    let pages = worksheet(project.layout(), project.plan(), project.findings(), &paper)
        .filter(|sheet| sheet.name.starts_with(pages));
    let words: Vec<String> = pages
        .flat_map(|sheet| sheet.drawing.items)
        .filter_map(|item| match item.shape {
            ItemShape::Text(text) => Some(text.content),
            _ => None,
        })
        .collect();
    words.join(" ")
}

/// The words of a run's steps.
fn steps(tube: &str, bender: &str, rest: &str) -> String {
    let all = words(tube, bender, rest, "r: ");
    let begin = all.find(" Steps ").unwrap_or_else(|| panic!("no steps: {all}"));
    let end = all.find("The other order").unwrap_or(all.len());
    all[begin..end].to_owned()
}

/// Each phrase stands in the words, once, and behind the one before.
fn in_order(words: &str, phrases: &[&str]) {
    let mut last = 0;
    for phrase in phrases {
        let found: Vec<usize> = words.match_indices(phrase).map(|(at, _)| at).collect();
        assert_eq!(found.len(), 1, "`{phrase}` stands {} times in: {words}", found.len());
        assert!(found[0] > last, "`{phrase}` comes too early in: {words}");
        last = found[0];
    }
}

fn without(words: &str, phrases: &[&str]) {
    for phrase in phrases {
        assert!(!words.contains(phrase), "`{phrase}` is out of place in: {words}");
    }
}

#[test]
fn tests_and_cautions_are_those_of_the_stuff_that_is_carried() {
    const LEAK: &str = "Leak test with air";
    const ELECTRIC: &str = "Water and electricity";
    const FOOD: &str = "Food contact";
    const LICENSED: &str = "Licensed work";
    const PRESSURE: &str = "bar to 75 °C";
    let all =
        [LEAK, ELECTRIC, "Coolant:", FOOD, "Scalds", LICENSED, PRESSURE, "The tube conducts", "leak test."];
    for (carries, wanted) in [
        ("", vec![LEAK, "leak test."]),
        ("carries: coolant", vec![LEAK, ELECTRIC, "Coolant:", PRESSURE, "The tube conducts", "leak test."]),
        ("carries: water", vec![LEAK, "Scalds", PRESSURE, "leak test."]),
        ("carries: drinking-water", vec![LEAK, FOOD, "Scalds", PRESSURE, "leak test."]),
        ("carries: steam", vec![FOOD, "Scalds", PRESSURE]),
        ("carries: gas", vec![LICENSED, PRESSURE]),
        ("carries: oil", vec![LICENSED, PRESSURE]),
        ("carries: nothing", vec![]),
    ] {
        let tube = "{standard: EN 1057, size: 15 x 1.0, temper: half-hard}";
        let found = words(tube, "{clr: 55}", &format!("{carries}\n{PLAIN_END}"), "");
        for phrase in all {
            assert_eq!(found.contains(phrase), wanted.contains(&phrase), "{carries}: `{phrase}` in {found}");
        }
    }
    // No stress of steel is known: nothing is claimed of it.
    let steel = "{od: 15, wall: 1, material: steel, temper: soft, yield_strength: 200, elongation: 30}";
    without(
        &words(steel, "{clr: 60}", &format!("carries: water\n{PLAIN_END}"), ""),
        &[PRESSURE, "Allowed pressure"],
    );
}

const PLAIN_END: &str = "fittings: {f: {tube_od: 15, insert: 12, straight: 8}}";

#[test]
fn where_a_bend_is_annealed_the_torch_comes_before_ink_tape_and_polish() {
    let tube = "{standard: EN 1057, size: 15 x 1.0, temper: hard}";
    let words = steps(tube, "{clr: 55, grip: 30}", &format!("carries: coolant\n{PLAIN_END}"));
    in_order(
        &words,
        &[
            "Cut straight tube square",
            "Find the anneal zones",
            "Heat each zone",
            "Let it cool",
            "Take the scale off, outside and in the bore",
            "Rinse inside and outside",
            "sand and polish it now",
            "Mark it with a pen",
            "Wipe the tool",
            "Measure each bend",
            "lay the whole run on its templates",
            "Hold it up to its ports with the allowance still on",
            "Trim at the marks",
            "Deburr the ends inside, chamfer outside",
            "Flush it with hot water",
            "Degrease the outside",
            "Mask what goes in (12.0 mm from the datum end",
            "Draw the insertion marks",
            "Slide on nuts, rings and collars",
            "Fit it",
            "leak test",
        ],
    );
    let before_the_torch = &words[..words.find("Heat each zone").unwrap()];
    without(
        before_the_torch,
        &["pen", "polish", "tape them", "wrap", "Wrap", "put on", "Slide on", "lacquer"],
    );
    without(&words, &["Put on now", "Straighten", "Flare"]);
}

#[test]
fn coiled_tube_is_straightened_before_anything_is_marked() {
    let tube = "{standard: EN 1057, size: 15 x 1.0, temper: soft}";
    let stock = "stock: {form: coil, length: 10 m}";
    let words = steps(tube, "{clr: 55, grip: 30}", &format!("{stock}\n{PLAIN_END}"));
    in_order(
        &words,
        &[
            "Cut 385.4 mm of tube",
            "Straighten it",
            "cut it square",
            "sand and polish",
            "Mark it with a pen",
            "Wipe the tool",
        ],
    );
    without(&words, &["Heat each zone", "anneal zones", "scale off", "Flame."]);
    let annealed = steps(tube, "{clr: 55, grip: 30}", &format!("anneal: always\n{stock}\n{PLAIN_END}"));
    in_order(
        &annealed,
        &[
            "Cut 385.4 mm of tube",
            "Straighten it",
            "Find the anneal zones",
            "Heat each zone",
            "Mark it with a pen",
        ],
    );
}

#[test]
fn only_a_flared_or_beaded_end_takes_its_part_before_the_bends() {
    let tube = "{standard: EN 1057, size: 15 x 1.0, temper: half-hard}";
    for (end, form) in [("flared", "Flare the"), ("beaded", "Bead the")] {
        let fitting = format!(
            "fittings: {{f: {{tube_od: 15, insert: 0, end: {end}, body: {{diameter: 24, length: 16}}}}}}"
        );
        let words = steps(tube, "{clr: 55, grip: 30}", &format!("carries: oil\n{fitting}"));
        in_order(
            &words,
            &[
                "an offcut and measure",
                "Cut straight tube square",
                "Put on now, before the bends",
                "the datum end as its fitting's maker says",
                "Mark it with a pen",
                "Wipe the tool",
                "Trim at",
                "the other end as its fitting's maker says",
                "Cap both ends",
                "Start each nut several turns by hand",
            ],
        );
        assert!(words.contains(form), "{words}");
        // Its last end has no form yet while it is laid out. Parts that are on the tube keep a strip off it.
        in_order(&words, &["Measure each bend", "without the saddles", "trim beyond that by what its"]);
        without(&words, &["strip", "The other order"]);
        let sheet = self::words(tube, "{clr: 55, grip: 30}", &format!("carries: oil\n{fitting}"), "");
        let forms = if end == "flared" { "+ 2 flares" } else { "+ 2 beads" };
        assert_eq!(sheet.matches(forms).count(), 2, "{sheet}");
        // Nothing is taken off a flare.
        without(&words, &["chamfer outside", "in with a nut", "insertion marks"]);
        // Oil lines keep their skin and stay dry.
        without(&words, &["Slide on nuts", "leak test", "polish", "lacquer", "hot water"]);
    }
    let plain = steps(tube, "{clr: 55, grip: 30}", PLAIN_END);
    in_order(
        &plain,
        &[
            "Mark it with a pen",
            "Wipe the tool",
            "Trim at",
            "lacquer if",
            "Slide on nuts, rings and collars",
            "Fit it",
        ],
    );
    without(&plain, &["Put on now", "Flare the", "Bead the", "tape"]);
}

#[test]
fn test_pieces_come_before_the_stock_is_planned() {
    let tube = "{standard: EN 1057, size: 15 x 1.0, temper: hard}";
    let stock = "stock: {length: 3 m, count: 1, leftovers: [500]}";
    let sheet = words(tube, "{clr: 55, grip: 30}", &format!("{stock}\n{PLAIN_END}"), "");
    in_order(
        &sheet,
        &[
            "Cut the test pieces first. Then write the rest into the spec as leftovers",
            "sheet that is printed after that",
        ],
    );
    // Bends of hard tube are softened, so the pieces are, too: bends begin at 100 mm, the first 45° of radius 55 is 43.2 long.
    assert!(sheet.contains("1 from 85.0 to 158.2"), "{sheet}");
    // The run is cut from the leftover: another tube than the pieces are of.
    assert!(sheet.contains("From another piece than these: r."), "{sheet}");
    let none = words(tube, "{clr: 55, grip: 30}", PLAIN_END, "");
    without(&none, &["Cut the test pieces first", "as the cut plan says", "From another piece"]);
    assert!(none.contains("Cut them off, straighten"), "{none}");
}

/// Two runs that cross, one that does not, one that ends in a port that faces into its tank, one whose corner lies off
/// the port's axis, and one that no bender of that grip holds.
const STOPPED: &str = "\
format: 1
tube: {standard: EN 1057, size: 15 x 1.0, temper: half-hard}
bender: {clr: 55, grip: 30}
stock: {length: 3 m}
components:
  tank:
    box: {from: [0, -60, 0], to: [80, 0, 200]}
    ports:
      out: {at: [40, 0, 30], facing: [0, -1, 0]}
      in: {at: [40, 0, 160], facing: [0, 1, 0]}
runs:
  b: {from: [0, 400, 0], to: [300, 400, 0], corners: []}
  c: {from: [150, 300, 0], to: [150, 500, 0], corners: []}
  sound: {from: [0, 900, 0], to: [300, 900, 0], corners: []}
  port: {from: tank.out, to: [300, 105, 30], corners: [[40, 105, 30]]}
  axis: {from: tank.in, to: [300, 140, 160], corners: [[44, 140, 160]]}
  short: {from: [0, 1300, 0], to: [80, 1380, 0], corners: [[80, 1300, 0]]}
";

#[test]
fn a_run_that_cannot_work_is_not_cut_and_its_page_says_why() {
    for (run, reason) in [
        ("b", "overlaps run c by 15.00 mm"),
        ("c", "overlaps run c by 15.00 mm"),
        ("port", "tank.out faces into tank"),
        ("axis", "leaves tank.in 1.64° off the way it faces"),
        ("short", "bend 1 has 25.0 mm of straight before it"),
    ] {
        let page = words_of(STOPPED, &format!("{run}: "));
        in_order(&page, &["DO NOT CUT", reason, " Steps ", "Do not cut: see the head of this run's page"]);
        without(&page, &["cut to", "Cut straight tube", "Mark it with a pen"]);
    }
    let sound = words_of(STOPPED, "sound: ");
    in_order(&sound, &["cut to", "Cut straight tube square to 300.0 mm"]);
    without(&sound.to_lowercase(), &["do not cut"]);
    // The table of the runs, and a line of the cut plan for each.
    let first = words_of(STOPPED, "order: ");
    assert_eq!(first.matches("do not cut").count(), 10, "{first}");
    assert_eq!(first.matches(": do not cut yet, see its page; ").count(), 5, "{first}");
    assert!(first.contains("300.0 mm of tube to cut, without 5 runs not to be cut yet."), "{first}");
}
