//! Next steps with the files of a build: the file to open first, and those to print, on which paper and in which order.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::{Mutex, PoisonError};

use tubewright::drawing::sheet::Paper;
use tubewright::export::{Artifact, pdf};

use super::report::counted;
use super::terminal::shown;

/// The pages to print, in the order of work, and what each file is for.
const PRINTED: [(&str, &str); 3] = [
    ("worksheet.pdf", "what to cut, mark, turn and pull to"),
    ("strips.pdf", "to wrap round the straight tubes"),
    ("templates.pdf", "to lay the bent tubes on"),
];

/// Files that show the loop, best first.
const PICTURES: [&str; 3] = ["overview.svg", "overview.pdf", "assembly.step"];

/// Sides of two papers nearer than this are the same, mm: a page's size is rounded in points.
const SAME_PAPER_MM: f64 = 0.1;

/// The sheets of each PDF, counted as they are rendered.
#[derive(Debug, Default)]
pub(super) struct Sheets(Mutex<BTreeMap<String, Vec<(f64, f64)>>>);

impl Sheets {
    /// Counts the sheets of a finished file. May be called from several threads.
    pub(super) fn count(&self, artifact: &Artifact) {
        if artifact.path.ends_with(".pdf") {
            let sizes = pdf::page_sizes(&artifact.bytes);
            let mut files = self.0.lock().unwrap_or_else(PoisonError::into_inner);
            files.insert(artifact.path.clone(), sizes);
        }
    }

    /// What to do next with files built into `out` for `paper`; empty where there is nothing to look at.
    pub(super) fn next(&self, out: &Path, files: &[String], paper: &Paper) -> String {
        let sheets = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let mut text = String::new();
        let built = |file: &str| files.iter().any(|built| built == file);
        if let Some(picture) = PICTURES.into_iter().find(|picture| built(picture)) {
            text += &format!("  open    {}\n", shown(&out.join(picture)));
        }
        let printed: Vec<_> = PRINTED
            .into_iter()
            .filter_map(|(file, purpose)| Some((file, sheets.get(file)?, purpose)))
            .collect();
        if !printed.is_empty() {
            let on_it = printed.iter().flat_map(|(_, sizes, _)| *sizes).all(|size| is_on(*size, paper));
            let name =
                if on_it { format!("on {} paper", paper.name()) } else { "each on paper of its size".into() };
            text += &format!("  print   {name}, at 100 %, in this order:\n");
        }
        for (index, (file, sizes, purpose)) in printed.iter().enumerate() {
            let count = counted(sizes.len(), "sheet");
            text += &format!("          {}. {file:<14}{count:>10}   {purpose}\n", index + 1);
        }
        let tools: Vec<usize> = sheets
            .iter()
            .filter(|(file, _)| file.starts_with("forms/") || file.starts_with("jigs/"))
            .map(|(_, sizes)| sizes.len())
            .collect();
        if !tools.is_empty() {
            text += &format!(
                "  forms/ and jigs/ have {} more in {}: how to put them together\n",
                counted(tools.iter().sum(), "sheet"),
                counted(tools.len(), "PDF")
            );
        }
        if text.is_empty() { text } else { format!("next:\n{text}") }
    }
}

/// Whether a page is of this paper, either way up.
fn is_on((width, height): (f64, f64), paper: &Paper) -> bool {
    let same = |a: f64, b: f64| (a - b).abs() < SAME_PAPER_MM;
    same(width.min(height), paper.width()) && same(width.max(height), paper.height())
}

#[cfg(test)]
mod tests {
    use super::*;
    use tubewright::build::{Options, Project};
    use tubewright::spec::STARTER;

    fn built(formats: &[tubewright::build::Format]) -> String {
        let project = Project::read(STARTER, "starter.yaml").expect("sound");
        let (sheets, files) = (Sheets::default(), Mutex::new(Vec::new()));
        let sink = |artifact: &Artifact| {
            sheets.count(artifact);
            files.lock().expect("no panic").push(artifact.path.clone());
            Ok::<(), std::convert::Infallible>(())
        };
        let options = Options { formats: formats.to_vec(), ..Options::default() };
        project.render(&options, &sink, &|| ()).expect("renders");
        sheets.next(Path::new("out/a"), &files.into_inner().expect("no panic"), &Paper::default())
    }

    #[test]
    fn names_only_what_was_built() {
        use tubewright::build::Format::{Csv, Dxf, Json, Step, Svg};
        assert_eq!(built(&[Csv, Json, Dxf]), "");
        assert_eq!(built(&[Svg]), "next:\n  open    out/a/overview.svg\n");
        assert_eq!(built(&[Step]), "next:\n  open    out/a/assembly.step\n");
    }

    #[test]
    fn says_what_to_print_in_the_order_of_work() {
        let text = built(&[tubewright::build::Format::Pdf]);
        assert!(text.contains("open    out/a/overview.pdf"), "{text}");
        let at = |words: &str| text.find(words).unwrap_or_else(|| panic!("no {words} in\n{text}"));
        let order = [
            "on a4 paper, at 100 %",
            "1. worksheet.pdf",
            "2. strips.pdf",
            "3. templates.pdf",
            "forms/ and jigs/",
        ];
        assert!(order.map(at).is_sorted(), "{text}");
        assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    }
}
