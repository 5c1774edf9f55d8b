//! Arguments exactly as typed. Resolved into jobs by the commands.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;

use tubewright::build::Format;

/// Bent tube runs in YAML become solid models, full-size templates, form outlines and a bend plan.
#[derive(Debug, Parser)]
#[command(
    name = "tubewright",
    version,
    about,
    max_term_width = 100,
    after_help = "Exit codes: 0 done; 1 the spec has errors, nothing written; 2 wrong usage; 3 could not read or write.\n\
                  Start with `tubewright init my-loop.yaml`, then `tubewright build my-loop.yaml`."
)]
pub(crate) struct Arguments {
    #[command(subcommand)]
    pub(super) command: Command,

    /// When to colour messages
    #[arg(long, global = true, value_enum, default_value_t = Colour::Auto, value_name = "WHEN")]
    pub(super) color: Colour,

    /// Print errors only
    #[arg(long, short, global = true)]
    pub(super) quiet: bool,
}

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Write a commented starter spec
    #[command(
        after_help = "Examples:\n  tubewright init my-loop.yaml\n  tubewright init -      # to the terminal"
    )]
    Init {
        /// File to write; `-` prints it. An existing file is never overwritten
        #[arg(default_value = "runs.yaml")]
        file: PathBuf,
    },
    /// Write every file for each spec
    #[command(after_help = "Examples:\n  \
        tubewright build my-loop.yaml\n  \
        tubewright build my-loop.yaml --only pdf --paper letter --printer-scale 99.6,100.2\n  \
        tubewright build my-loop.yaml --run tank-to-pump --only step,stl --chord 0.02")]
    Build(BuildArguments),
    /// Report problems and show the plan, write nothing
    #[command(
        after_help = "Examples:\n  tubewright check my-loop.yaml\n  tubewright check specs/*.yaml --strict --format json"
    )]
    Check {
        #[command(flatten)]
        specs: SpecArguments,
    },
    /// Fit benders to the spec's test bends and say what to measure next
    #[command(after_help = "Examples:\n  \
        tubewright calibrate my-loop.yaml\n  \
        tubewright calibrate my-loop.yaml --format json\n\n\
        Test bends are written in the spec, below a bender; without any, this says how.")]
    Calibrate {
        #[command(flatten)]
        specs: SpecArguments,
    },
    /// List built-in tube sizes
    #[command(after_help = "Examples:\n  tubewright sizes\n  tubewright sizes \"EN 1057\"")]
    Sizes {
        /// One standard only, such as "ASTM B88"
        standard: Option<String>,
        /// How to print
        #[arg(long, value_enum, default_value_t = ReportFormat::Text)]
        format: ReportFormat,
    },
    /// Print the JSON Schema of the spec, for editors
    #[command(after_help = "Example:\n  tubewright schema > tubewright.schema.json")]
    Schema,
    /// Print shell completions
    #[command(
        after_help = "Example:\n  tubewright completions bash > ~/.local/share/bash-completion/completions/tubewright"
    )]
    Completions {
        /// The shell
        #[arg(value_enum)]
        shell: Shell,
    },
}

/// What every command that reads specs takes.
#[derive(Debug, Args)]
pub(super) struct SpecArguments {
    /// The specs, YAML
    #[arg(required = true, value_name = "SPEC")]
    pub(super) specs: Vec<PathBuf>,

    /// Treat warnings as errors
    #[arg(long)]
    pub(super) strict: bool,

    /// How to print the report
    #[arg(long, value_enum, default_value_t = ReportFormat::Text)]
    pub(super) format: ReportFormat,
}

#[derive(Debug, Args)]
pub(super) struct BuildArguments {
    #[command(flatten)]
    pub(super) specs: SpecArguments,

    /// Output folder [default: out/<spec name>]; with several specs, the folder that holds theirs
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,

    /// Only these kinds of file
    #[arg(long, value_delimiter = ',', value_name = "KINDS", value_parser = super::values::formats())]
    pub(super) only: Vec<Format>,

    /// Write files of this run only (repeatable); pictures, lists and the assembly then hold no other.
    /// Clashes with the rest of the spec are still told
    #[arg(long = "run", value_name = "NAME")]
    pub(super) runs: Vec<String>,

    /// Paper: a4, a3, a2, letter, legal, tabloid, or WIDTHxHEIGHT in mm
    #[arg(long, default_value = "a4", value_name = "PAPER", value_parser = super::values::paper)]
    pub(super) paper: tubewright::drawing::sheet::Paper,

    /// What a printed 100 mm bar measured across and up the sheet, such as 99.6,100.2; the drawing
    /// is stretched to cancel it
    #[arg(long, value_name = "X,Y", value_parser = super::values::printer_scale)]
    pub(super) printer_scale: Option<super::values::PrinterScale>,

    /// Thickness of the paper, mm, for strips that are wrapped round the tube
    #[arg(long, default_value_t = tubewright::drawing::sheet::PAPER_THICKNESS_MM, value_name = "MM", value_parser = super::values::paper_thickness)]
    pub(super) paper_thickness: f64,

    /// Chord height of STL files, mm
    #[arg(long, default_value_t = tubewright::tolerance::CHORD_MM, value_name = "MM", value_parser = super::values::chord)]
    pub(super) chord: f64,
}

/// When to colour messages.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Colour {
    /// On a terminal, unless NO_COLOR is set
    Auto,
    /// Always
    Always,
    /// Never
    Never,
}

/// How reports are printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum ReportFormat {
    /// For people
    Text,
    /// For programs
    Json,
}
