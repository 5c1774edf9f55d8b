//! Templates of random runs on random paper.

use crate::drawing::item::Point;
use proptest::prelude::*;

use super::*;
use crate::drawing::clip::clip_line;
use crate::drawing::extents::shape_extents;
use crate::drawing::sheet::tile::MARK;
use crate::drawing::sheet::tiling::{OVERLAP, letters};
use crate::drawing::sheet::{MARGIN, Paper};
use crate::drawing::template::figure::Placed;
use crate::drawing::template::plane::tests::{flat_planes, laid};
use crate::plan::Pull;
use crate::testing::layout;

type Row = (f64, f64, f64, f64);

/// Bend tables whose runs fit on a moderate number of sheets; radii from 1.5 to 6 times the 15 mm tube.
fn rows() -> impl Strategy<Value = Vec<Row>> {
    let rotation = prop_oneof![Just(0.0), Just(180.0), Just(90.0), -179.0..179.0];
    let angle = prop_oneof![Just(90.0), Just(45.0), Just(180.0), 5.0..179.0];
    prop::collection::vec((0.0..250.0, rotation, angle, 22.5..90.0), 0..7)
}

fn paper() -> impl Strategy<Value = Paper> {
    prop::sample::select(vec!["a4", "a3", "letter", "legal", "tabloid", "148x210", "600x400"])
        .prop_map(|name| Paper::parse(name).expect("a paper"))
}

fn poses(rows: &[Row], end: f64, paper: &Paper, scale: (f64, f64)) -> Vec<(Plane, Option<Pose>)> {
    let frames = PageFrame::all(paper);
    flat_planes(&laid("sample", rows, end))
        .into_iter()
        .map(held)
        .map(|plane| {
            let pose = best_pose(&plane, &frames, scale);
            (plane, pose)
        })
        .collect()
}

/// A plane whose bends spring back by a made-up part of their angle.
fn held(mut plane: Plane) -> Plane {
    for bend in &mut plane.bends {
        let factor = 1.02 + 0.02 * f64::from(u32::try_from(bend.number % 3).unwrap_or(0));
        bend.pulled = Some(Pull { angle: bend.angle * factor, radius: bend.arc.radius / factor });
    }
    plane
}

/// The plan of a layout.
fn planned(layout: &Layout) -> Plan {
    crate::plan::plan(layout, &crate::fit::check(layout).0).0
}

fn placed(pose: &Pose) -> (Placed, Vec<RegistrationMark>) {
    let all_marks = marks(&pose.tiling, &thin_lines(&pose.figure));
    let taken: Vec<Rect> = all_marks.iter().map(RegistrationMark::bounds).collect();
    let cells = cells(&pose.tiling);
    (pose.figure.placed(&cells, &taken), all_marks)
}

fn cells(tiling: &Tiling) -> Vec<Rect> {
    tiling.tiles.iter().map(|&tile| tiling.own(tile).grown(-0.5)).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn every_drawn_point_is_on_a_sheet_and_sheets_are_few(rows in rows(), end in 1.0..250.0, paper in paper()) {
        for (plane, pose) in poses(&rows, end, &paper, (1.0, 1.0)) {
            // Upright, as drawn, every cell of the box around it.
            let plain = plain_grid(&plane, &PageFrame::all(&paper)[0], (1.0, 1.0));
            let Some(pose) = pose else {
                prop_assert!(plain > MOST_SHEETS, "{plain} sheets would do");
                continue;
            };
            let tiles = &pose.tiling.tiles;
            prop_assert!(tiles.len() <= plain, "{} sheets instead of {plain}", tiles.len());
            prop_assert!(tiles.iter().any(|t| t.0 == 0) && tiles.iter().any(|t| t.1 == 0), "empty edge");
            let (columns, rows) = (pose.tiling.x.count(), pose.tiling.y.count());
            let full = tiles.iter().any(|t| t.0 + 1 == columns) && tiles.iter().any(|t| t.1 + 1 == rows);
            prop_assert!(full, "empty edge");
            for &tile in tiles {
                let (window, room) = (pose.tiling.window(tile), pose.frame.window);
                prop_assert!(window.width() < room.width() + 1e-6 && window.height() < room.height() + 1e-6);
            }
            for &tile in tiles {
                let window = pose.tiling.window(tile);
                let tube = pose.figure.drawing.items.iter().filter(|i| i.role == Role::TubeEdge);
                let tube = flat_lines(&Drawing { items: tube.cloned().collect() });
                prop_assert!(tube.iter().any(|line| clip_line(line, &window).is_some()), "no tube on a sheet");
            }
            let drawn = pose.figure.drawing.items.iter();
            let mut shown = of_roles(&pose.figure.drawing, true);
            let legs = drawn.filter(|i| i.role == Role::Corner).cloned().collect();
            shown.extend(flat_lines(&Drawing { items: legs }));
            for line in shown {
                for step in 0..=8 {
                    let share = f64::from(step) / 8.0;
                    let (dx, dy) = ((line.to.x - line.from.x) * share, (line.to.y - line.from.y) * share);
                    let point = line.from.shifted(dx, dy);
                    let shown = tiles.iter().any(|&tile| pose.tiling.window(tile).grown(1e-9).has(point));
                    prop_assert!(shown, "{point:?} is on no sheet");
                }
            }
        }
    }

    #[test]
    fn labels_keep_off_each_other_the_tube_the_marks_and_the_joints(
        rows in rows(), end in 1.0..250.0, paper in paper(),
    ) {
        // On A5 a U fills the sheet, and a label may find no free place at all.
        let roomy = paper.width().min(paper.height()) >= 210.0;
        for pose in poses(&rows, end, &paper, (1.0, 1.0)).into_iter().filter_map(|(_, pose)| pose) {
            let (Placed { words: labels, .. }, all_marks) = placed(&pose);
            let words: Vec<Rect> = labels
                .items
                .iter()
                .filter(|item| matches!(item.shape, ItemShape::Text(_)))
                .filter_map(|item| shape_extents(&item.shape, item.role))
                .map(|bounds| bounds.grown(-0.01))
                .collect();
            let shown = |cell: &Rect| pose.figure.sizes.iter().filter_map(|s| s.label(cell)).count();
            let checks: usize = cells(&pose.tiling).iter().map(shown).sum();
            let wanted: usize = checks + pose.figure.labels.iter().map(|label| label.lines.len()).sum::<usize>();
            prop_assert_eq!(words.len(), wanted);
            let edges: Vec<Line> = {
                let mut tube = Drawing::new();
                let own = pose.figure.drawing.items.iter().filter(|i| i.role == Role::TubeEdge).cloned();
                tube.items.extend(own);
                flat_lines(&tube)
            };
            for (index, bounds) in words.iter().enumerate() {
                if !roomy {
                    continue;
                }
                prop_assert!(!words.iter().skip(index + 1).any(|other| other.overlaps(bounds)), "on a label");
                prop_assert!(!all_marks.iter().any(|mark| mark.bounds().overlaps(bounds)), "on a mark");
                prop_assert!(!edges.iter().any(|line| clip_line(line, bounds).is_some()), "on the tube");
                let shown = pose.tiling.tiles.iter().filter(|&&tile| pose.tiling.own(tile).holds(bounds));
                prop_assert_eq!(shown.count(), 1, "{:?} is not wholly on one sheet", bounds);
            }
        }
    }

    #[test]
    fn check_sizes_keep_out_of_the_tube(rows in rows(), end in 1.0..250.0, paper in paper()) {
        for pose in poses(&rows, end, &paper, (1.0, 1.0)).into_iter().filter_map(|(_, pose)| pose) {
            let middle: Vec<Line> = {
                let items = pose.figure.drawing.items.iter().filter(|i| i.role == Role::Centreline);
                flat_lines(&Drawing { items: items.cloned().collect() })
            };
            let off = |p: Point| {
                let near = |l: &Line| {
                    let (dx, dy) = (l.to.x - l.from.x, l.to.y - l.from.y);
                    let square = (dx * dx + dy * dy).max(1e-12);
                    let share = (((p.x - l.from.x) * dx + (p.y - l.from.y) * dy) / square).clamp(0.0, 1.0);
                    p.distance(l.from.shifted(dx * share, dy * share))
                };
                middle.iter().map(near).fold(f64::INFINITY, f64::min)
            };
            for line in pose.figure.sizes.iter().flat_map(CheckSize::lines) {
                let ends = [off(line.from), off(line.to)];
                prop_assert!(ends.iter().all(|&away| away > pose.plane.od / 2.0), "{line:?} starts in the tube");
                let steps = (line.from.distance(line.to) / 0.5).ceil().max(1.0);
                let mut run = 0.0;
                let mut step = 0.0;
                while step <= steps {
                    let share = step / steps;
                    let (dx, dy) = (line.to.x - line.from.x, line.to.y - line.from.y);
                    run = if off(line.from.shifted(dx * share, dy * share)) < 0.5 { run + 0.5 } else { 0.0 };
                    prop_assert!(run <= 5.0, "{line:?} covers the centreline");
                    step += 1.0;
                }
            }
        }
    }

    #[test]
    fn every_check_size_a_sheet_shows_has_its_words_there(
        rows in rows(), end in 1.0..250.0, paper in paper(),
    ) {
        for pose in poses(&rows, end, &paper, (1.0, 1.0)).into_iter().filter_map(|(_, pose)| pose) {
            let (placed, all_marks) = placed(&pose);
            for (&tile, checks) in pose.tiling.tiles.iter().zip(&placed.checks) {
                let shown = content(&pose.tiling, tile, &pose.figure.drawing, (&placed.words, checks), &all_marks);
                let words = ["end to end", "across", "up"].map(|end| {
                    shown.items.iter().any(|i| matches!(&i.shape, ItemShape::Text(t) if t.content.ends_with(end)))
                });
                let dotted = shown.items.iter().any(|item| item.role == Role::Check);
                let full = |item: &&Item| item.role == Role::Dimension;
                let longest = shown.items.iter().filter(full).filter_map(|item| match item.shape {
                    ItemShape::Line(line) => Some(line.from.distance(line.to)),
                    _ => None,
                }).fold(0.0, f64::max);
                prop_assert!(!dotted || words.contains(&true), "a check size without words");
                prop_assert!(longest < 60.0, "a thin full line of {longest} mm");
            }
        }
    }

    #[test]
    fn nothing_is_printed_in_the_margin(rows in rows(), end in 1.0..250.0, paper in paper(), stretch in 0.99..1.01) {
        let mut run = laid("sample", &rows, end);
        run.run.name = "a run with rather a long name that a title block has to cut somewhere".into();
        let layout = Layout {
            title: "A title that is a good deal longer than any strip at the foot of a sheet could ever hold".into(),
            ..layout(vec![run], Vec::new())
        };
        let setup = PrintSetup { paper, scale: (stretch, 2.0 - stretch), ..PrintSetup::default() };
        for sheet in template_sheets(&layout, &planned(&layout), &setup).unwrap_or_default() {
            let printable = Rect::new(
                Point::new(MARGIN, MARGIN),
                Point::new(sheet.width - MARGIN, sheet.height - MARGIN),
            )
            .grown(1e-6);
            let stretched = sheet.stretched.iter().flat_map(|part| part.drawing.items.iter().map(move |i| (i, part.by)));
            for (item, by) in sheet.drawing.items.iter().map(|i| (i, (1.0, 1.0))).chain(stretched) {
                let Some(bounds) = shape_extents(&item.shape, item.role) else { continue };
                let scaled = |p: Point| Point::new(p.x * by.0, p.y * by.1);
                let bounds = if matches!(item.shape, ItemShape::Text(_)) {
                    // Letters are not stretched, only their anchors.
                    let at = scaled(bounds.centre());
                    bounds.shifted(at.x - bounds.centre().x, at.y - bounds.centre().y).grown(-0.2)
                } else {
                    Rect::new(scaled(bounds.min), scaled(bounds.max))
                };
                prop_assert!(printable.holds(&bounds), "{:?} at {bounds:?}", item.shape);
            }
        }
    }
}

#[test]
fn marks_stay_twelve_millimetres_from_the_edge() {
    const { assert!(MARGIN + OVERLAP / 2.0 - MARK >= 12.0) };
}

#[test]
fn a_run_that_fits_takes_one_sheet_as_it_is() {
    let (_, pose) = poses(&[(60.0, 0.0, 90.0, 55.0)], 60.0, &Paper::default(), (1.0, 1.0)).remove(0);
    let pose = pose.expect("fits");
    assert_eq!(pose.tiling.tiles, [(0, 0)]);
    assert!(pose.plane.pieces[0].to().y.abs() < 1e-9, "not turned");
    assert_eq!((pose.frame.width, pose.frame.height), (210.0, 297.0));
}

#[test]
fn a_straight_run_longer_than_the_paper_is_laid_along_it() {
    let (_, pose) = poses(&[], 240.0, &Paper::default(), (1.0, 1.0)).remove(0);
    assert_eq!(pose.expect("fits").tiling.tiles.len(), 1);
}

#[test]
fn joints_keep_off_bends_where_there_is_room() {
    let rows = [(200.0, 0.0, 90.0, 55.0), (250.0, 180.0, 90.0, 55.0)];
    let (_, pose) = poses(&rows, 200.0, &Paper::default(), (1.0, 1.0)).remove(0);
    let pose = pose.expect("fits");
    assert!(pose.tiling.tiles.len() > 1);
    let everything = Rect::new(Point::new(-1e4, -1e4), Point::new(1e4, 1e4));
    assert_eq!(cut_bends(&pose, &everything), Vec::<String>::new());
}

#[test]
fn waste_is_tilted_onto_the_sheet_of_its_tube() {
    // With its 10 mm of waste the tube is longer than the window is wide, without it is not.
    for end in [246.0, 250.0, 255.0] {
        let (_, pose) = poses(&[], end, &Paper::default(), (1.0, 1.0)).remove(0);
        let pose = pose.expect("fits");
        assert_eq!(pose.tiling.tiles.len(), 1, "{end}");
        let waste = pose.figure.drawing.items.iter().filter(|i| i.role == Role::Waste).cloned().collect();
        assert!(!lost(&pose.tiling, flat_lines(&Drawing { items: waste }).iter()), "{end}");
    }
}

#[test]
fn no_note_is_cut() {
    let mut run = laid("sample", &[(50.0, 0.0, 180.0, 200.0), (90.0, 180.0, 90.0, 55.0)], 50.0);
    run.run.allowance_end = 25.0;
    let setup = PrintSetup { scale: (100.0 / 99.6, 100.0 / 100.2), ..PrintSetup::default() };
    let pose = best_pose(&flat_planes(&run)[0], &PageFrame::all(&setup.paper), setup.scale).expect("fits");
    let (_, all_marks) = placed(&pose);
    let layout = layout(vec![run.clone()], Vec::new());
    let sheets = sheets(&layout, &run, &pose, &setup);
    let mut cut = 0;
    for (sheet, &tile) in sheets.iter().zip(&pose.tiling.tiles) {
        let texts = sheet.drawing.items.iter().filter_map(|item| match &item.shape {
            ItemShape::Text(text) => Some((item.role, text)),
            _ => None,
        });
        let print =
            texts.clone().find(|(_, t)| t.content.starts_with("Print at")).expect("a print note").1.at.y;
        let block = texts.filter(|(role, t)| *role == Role::Note && t.at.x == pose.frame.title.min.x);
        let words: Vec<&str> = block
            .map(|(_, text)| {
                assert!(text.at.y - text.height > print, "{} is below the print note", text.content);
                text.content.as_str()
            })
            .collect();
        let words = words.join(" ");
        for note in sheet_notes(&run, &pose, &all_marks, tile, &setup) {
            cut += usize::from(note.contains("through bend"));
            assert!(words.contains(&note), "{note:?} is not in {words:?}");
        }
    }
    assert!(cut > 0, "a sheet has all kinds of notes");
}

#[test]
fn a_page_map_names_every_column_and_row_apart() {
    let rows = [(2500.0, 0.0, 20.0, 160.0)];
    for name in ["148x210", "a4", "letter", "a3"] {
        let (_, pose) = poses(&rows, 2000.0, &Paper::parse(name).unwrap(), (1.0, 1.0)).remove(0);
        let pose = pose.expect("fits");
        let (columns, rows) = (pose.tiling.x.count(), pose.tiling.y.count());
        assert!(columns > 5, "{columns} columns");
        let map = page_map(pose.frame.map, &pose.tiling, &pose.plane.pieces, pose.tiling.tiles[0]);
        let names: Vec<(&str, Rect)> = map
            .items
            .iter()
            .filter_map(|item| match &item.shape {
                ItemShape::Text(text) => {
                    Some((text.content.as_str(), shape_extents(&item.shape, item.role)?))
                }
                _ => None,
            })
            .collect();
        for wanted in (0..columns).map(letters).chain((1..=rows).map(|row| row.to_string())) {
            assert_eq!(names.iter().filter(|n| n.0 == wanted).count(), 1, "{wanted} on {name}");
        }
        for (index, (words, bounds)) in names.iter().enumerate() {
            assert!(pose.frame.map.grown(1e-6).holds(bounds), "{words} on {name}");
            assert!(
                !names.iter().skip(index + 1).any(|n| n.1.grown(-0.05).overlaps(bounds)),
                "{words} on {name}"
            );
        }
    }
}

#[test]
fn a_bend_wider_than_the_paper_is_cut_and_the_sheet_says_so() {
    let (_, pose) = poses(&[(50.0, 0.0, 180.0, 200.0)], 50.0, &Paper::default(), (1.0, 1.0)).remove(0);
    let pose = pose.expect("fits");
    let (_, all_marks) = placed(&pose);
    let tile = pose.tiling.tiles[0];
    assert!(joint_notes(&pose, &all_marks, tile).iter().any(|n| n.contains("through bend 1")));
}

#[test]
fn more_than_sixty_sheets_is_an_error_with_advice() {
    for end in [40_000.0, 5e8] {
        let layout = layout(vec![laid("sample", &[(50.0, 0.0, 90.0, 55.0)], end)], Vec::new());
        let fault =
            template_sheets(&layout, &planned(&layout), &PrintSetup::default()).expect_err("too long");
        assert_eq!(fault.code, "too-many-sheets");
        let hint = fault.hint.unwrap_or_default();
        assert!(hint.contains("--paper") && hint.contains("--run") && hint.contains("svg"), "{hint}");
    }
}

#[test]
fn a_long_run_name_leaves_plane_and_sheet_readable() {
    let layout = layout(
        vec![laid(&"long-".repeat(40), &[(80.0, 0.0, 90.0, 55.0), (80.0, 90.0, 90.0, 55.0)], 70.0)],
        Vec::new(),
    );
    for (sheet, plane) in
        template_sheets(&layout, &planned(&layout), &PrintSetup::default()).expect("fits").iter().zip(1..)
    {
        let wanted = format!("… plane {plane}: sheet A1 of 1");
        let found = sheet.drawing.items.iter().any(|item| match &item.shape {
            ItemShape::Text(text) => text.content.ends_with(&wanted),
            _ => false,
        });
        assert!(found, "{wanted}");
        assert!(sheet.name.starts_with(&"long-".repeat(40)));
    }
}

#[test]
fn a_stretch_prints_the_bar_true() {
    // A printer that makes 99.6 mm of 100 wants the bar 100/99.6 times as long on the page.
    let setup = PrintSetup { scale: (100.0 / 99.6, 100.0 / 100.2), ..PrintSetup::default() };
    let layout = layout(vec![laid("sample", &[(80.0, 0.0, 90.0, 55.0)], 70.0)], Vec::new());
    let sheets = template_sheets(&layout, &planned(&layout), &setup).expect("fits");
    let part = &sheets[0].stretched[0];
    let printed: Vec<f64> = part
        .drawing
        .items
        .iter()
        .filter(|i| i.role == Role::Scale)
        .filter_map(|i| if let ItemShape::Line(l) = i.shape { Some(l) } else { None })
        .map(|l| {
            let (dx, dy) = ((l.to.x - l.from.x) * part.by.0 * 0.996, (l.to.y - l.from.y) * part.by.1 * 1.002);
            dx.hypot(dy)
        })
        .collect();
    assert_eq!(printed.iter().filter(|l| (*l - 100.0).abs() < 1e-9).count(), 2, "both 100 mm bars");
    assert_eq!(printed.iter().filter(|l| (*l - 101.6).abs() < 1e-9).count(), 2, "both 4 in bars");
}
