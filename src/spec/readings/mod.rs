//! What was measured on a bent tube: a file of readings, options of the command line in the same words, and a blank file
//! to fill in. `keys` and `read` have the format.

mod blank;
mod options;

pub use blank::blank;

use super::model::{Measurable, Readings};
use super::node::{self, Key, Node, Scalar, Value};
use super::read::readings::{Source, document};
use crate::diagnostic::{Diagnostics, Span};
use options::Setting;

/// What was read of a tube.
#[derive(Debug, Clone, PartialEq)]
pub struct Read {
    /// The readings; none where there are errors.
    pub readings: Option<Readings>,
    /// What was found in the file, and of the tube as a whole.
    pub findings: Diagnostics,
    /// What was found in each option, with places in its text.
    pub of_options: Vec<Diagnostics>,
    /// Readings of the file that options took the place of.
    pub replaced: Vec<Replaced>,
}

/// A reading of the file in whose place an option's was taken.
#[derive(Debug, Clone, PartialEq)]
pub struct Replaced {
    /// The option, from 0.
    pub option: usize,
    /// Where the file has it.
    pub place: Span,
    /// Its value as the file writes it.
    pub was: String,
}

/// Reads a file of readings of a run, if there is one, and options with single readings, such as `bend 2 angle 88` or
/// `template 1 left -2 ± 0.5`, which go before those of the file.
///
/// ```
/// use tubewright::Project;
/// use tubewright::plan::measurable;
/// use tubewright::spec::readings::read;
///
/// let spec = "
/// format: 1
/// tube: {standard: EN 1057, size: 15 x 1.0, temper: soft}
/// bender: {clr: 55}
/// runs:
///   corner: {from: [0, 0, 0], corners: [[120, 0, 0]], to: [120, 90, 0]}
/// ";
/// let project = Project::read(spec, "corner.yaml").expect("a sound spec");
/// let run = measurable(project.layout(), &project.plan().runs[0]).expect("a run of the layout");
///
/// let file = "format: 1\nreadings: corner\nbends: {1: {angle: 88.5, leg: 126.4}}\n";
/// let read = read(Some(file), &["bend 1 angle 89".to_owned()], &run);
/// let readings = read.readings.expect("sound");
/// assert_eq!(readings.all.len(), 2);
/// assert_eq!((readings.all[0].value, read.replaced[0].was.as_str()), (89f64.to_radians(), "88.5"));
/// ```
pub fn read(file: Option<&str>, options: &[String], run: &Measurable) -> Read {
    // Options lie behind the file, each on a line of its own, so that every place is one of one text.
    let mut whole = file.unwrap_or_default().to_owned();
    whole.push('\n');
    let begins = whole.len();
    let starts: Vec<usize> = options
        .iter()
        .map(|option| {
            let start = whole.len();
            whole.push_str(option);
            whole.push('\n');
            start
        })
        .collect();
    let mut findings = Diagnostics::new();
    let root = match file.map_or_else(|| Ok(Some(empty(run))), node::parse) {
        Ok(root) => root,
        Err(diagnostic) => {
            findings.push(*diagnostic);
            None
        }
    };
    let is_yaml = findings.is_empty();
    let mut root = match root {
        Some(root) => Some(root),
        None if is_yaml && !options.is_empty() => Some(empty(run)),
        None => None,
    };
    let mut replaced = Vec::new();
    for (option, (text, start)) in options.iter().zip(&starts).enumerate() {
        let setting = Setting::parse(text, Placed { whole: &whole, start: *start });
        match (setting, &mut root) {
            (Ok(setting), Some(root)) => match setting.put_into(root, begins) {
                Ok(Some((place, was))) => replaced.push(Replaced { option, place, was }),
                Ok(None) => {}
                Err(fault) => findings.push(*fault),
            },
            (Ok(_), None) => {}
            (Err(fault), _) => findings.push(*fault),
        }
    }
    let mut readings = None;
    if is_yaml {
        let (read, found) = document(root.as_ref(), run, Source { options: begins });
        readings = read.filter(|_| findings.is_empty());
        findings.extend(found);
    }
    findings.sort_by_place();
    let (findings, of_options) = parted(findings, (options, &starts));
    Read { readings, findings, of_options, replaced }
}

/// Where an option lies in the text of all.
#[derive(Clone, Copy)]
struct Placed<'w> {
    whole: &'w str,
    start: usize,
}

impl Placed<'_> {
    /// The place of a part of the option.
    fn at(self, range: std::ops::Range<usize>) -> Span {
        Span::in_text(self.whole, self.start + range.start..self.start + range.end)
    }
}

/// The tree of a file without a reading.
fn empty(run: &Measurable) -> Node {
    let entry = |key: &str, value: &str| {
        let place = Span::default();
        let scalar = Scalar { text: value.to_owned(), null: false };
        (Key { text: key.to_owned(), place }, Node { value: Value::Scalar(scalar), place })
    };
    Node {
        value: Value::Map(vec![entry("format", "1"), entry("readings", &run.run)]),
        place: Span::default(),
    }
}

/// Findings of the file, and of each option with places in its own text.
fn parted(
    findings: Diagnostics,
    (options, starts): (&[String], &[usize]),
) -> (Diagnostics, Vec<Diagnostics>) {
    let mut of_file = Diagnostics::new();
    let mut of_options = vec![Diagnostics::new(); options.len()];
    for mut finding in findings {
        let at = finding.place.and_then(|place| {
            let option = starts.iter().rposition(|start| *start <= place.start)?;
            Some((option, place))
        });
        let own = at.and_then(|(option, place)| {
            let (text, start) = (options.get(option)?, starts.get(option)?);
            Some((of_options.get_mut(option)?, Span::in_text(text, place.start - start..place.end - start)))
        });
        match own {
            Some((own, place)) => {
                finding.place = Some(place);
                own.push(finding);
            }
            None => {
                // What was not written has no place.
                finding.place = finding.place.filter(|place| place.line > 0);
                of_file.push(finding);
            }
        }
    }
    (of_file, of_options)
}
