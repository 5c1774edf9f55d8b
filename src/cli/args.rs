//! Arguments exactly as typed. Resolved into jobs by the commands.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;

use tubewright::build::Format;

/// Bent tube runs in YAML become solid models, full-size templates, bending forms and the bench sheet
#[derive(Debug, Parser)]
#[command(
    name = "tubewright",
    version,
    about,
    max_term_width = 100,
    subcommand_value_name = "COMMAND",
    subcommand_help_heading = "Commands",
    before_help = "Examples:\n  \
        tubewright init my-loop.yaml     a commented spec to begin with\n  \
        tubewright check my-loop.yaml    what is wrong; every mark, turn and angle\n  \
        tubewright build my-loop.yaml    every file, into out/my-loop/",
    after_help = "Exit codes, of every command: 0 done; 1 the spec has errors, nothing written; 2 wrong usage; \
                  3 could not read or write, or another build is in the folder; 130, 143 ended by Ctrl-C or TERM."
)]
pub(crate) struct Arguments {
    #[command(subcommand)]
    pub(super) command: Command,

    /// Colour messages; auto is on a terminal, unless NO_COLOR is set or TERM is dumb
    #[arg(long, global = true, value_enum, default_value_t = Colour::Auto, value_name = "WHEN")]
    pub(super) color: Colour,

    /// Print errors only
    #[arg(long, short, global = true)]
    pub(super) quiet: bool,
}

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Write a commented starter spec that builds as it is
    #[command(before_help = "Examples:\n  \
        tubewright init my-loop.yaml\n  \
        tubewright init my-loop.yaml --from ports   begins with components and ports\n  \
        tubewright init lines.yaml --units in       in inches, with inch tube\n  \
        tubewright init -                           to the terminal")]
    Init(StarterArguments),
    /// Write every file of each spec: solids, templates, forms, jigs, worksheet and lists
    #[command(before_help = "Examples:\n  \
        tubewright build my-loop.yaml\n  \
        tubewright build my-loop.yaml --only pdf --paper letter\n  \
        tubewright build my-loop.yaml --run tank-to-pump\n  \
        tubewright build my-loop.yaml --only step,stl --chord 0.02")]
    Build(BuildArguments),
    /// Say what is wrong with each spec and show its plan; write nothing
    #[command(before_help = "Examples:\n  \
        tubewright check my-loop.yaml\n  \
        tubewright check my-loop.yaml --run tank-to-pump\n  \
        tubewright check specs/reading-room.yaml specs/lamp-arm.yaml --strict")]
    Check(CheckArguments),
    /// List the best ways of runs that have only ends, and write one into the spec
    #[command(before_help = "Examples:\n  \
        tubewright route my-loop.yaml\n  \
        tubewright route my-loop.yaml tank-to-pump --ways 5\n  \
        tubewright route my-loop.yaml --svg ways.svg         a picture of all of them\n  \
        tubewright route my-loop.yaml tank-to-pump --take 2  write its corners")]
    Route(RouteArguments),
    /// Fit benders to the spec's test bends and say what to measure next
    #[command(
        before_help = "Examples:\n  \
        tubewright calibrate my-loop.yaml\n  \
        tubewright calibrate my-loop.yaml --format json",
        after_help = "Test bends are written in the spec, below a bender. Where a spec has none, this says how to \
                      write them."
    )]
    Calibrate {
        #[command(flatten)]
        specs: SpecArguments,
    },
    /// Hold a bent tube, or one that is bent in part, against its plan by what was measured on it
    #[command(
        before_help = "Examples:\n  \
        tubewright correct my-loop.yaml sample --write bent.yaml   a file to fill in\n  \
        tubewright correct my-loop.yaml sample bent.yaml\n  \
        tubewright correct my-loop.yaml sample --set \"bend 2 angle 88\"\n  \
        tubewright correct my-loop.yaml sample bent.yaml --set \"bends_done 1\"",
        after_help = "Options say in one line what a file says in several, and go before it:\n\n  \
                      --set \"bend 2 angle 88 +- 0.5\"         88 degrees, sure to 0.5\n  \
                      --set \"template 1 at bend 2 left -2\"   2 mm to the right of the drawing\n  \
                      --set \"cut 420\"                        the length that was cut\n\n\
                      The boxes of the worksheet have the same names. `tubewright schema --readings` has them all."
    )]
    Correct(CorrectArguments),
    /// List built-in tube sizes, or find the ones of a diameter
    #[command(before_help = "Examples:\n  \
        tubewright sizes              all of them\n  \
        tubewright sizes EN 1057      one standard\n  \
        tubewright sizes 15 x 1       by outside diameter and wall, in mm\n  \
        tubewright sizes 5/8 in       by outside diameter or nominal size, in inches")]
    Sizes {
        /// A standard, such as ASTM B88; or an outside diameter or nominal size, perhaps with a wall, such
        /// as 15, 15 x 1, 5/8 or 0.625 in. A bare number is looked for in mm and in inches
        #[arg(value_name = "STANDARD OR SIZE", allow_negative_numbers = true)]
        wanted: Vec<String>,
        /// Print text for people or JSON for programs
        #[arg(long, value_enum, default_value_t = ReportFormat::Text)]
        format: ReportFormat,
    },
    /// Print the JSON Schema of the spec, so that editors check and complete while you type
    #[command(
        before_help = "Examples:\n  \
        tubewright schema > tubewright.schema.json\n  \
        tubewright schema --readings > readings.schema.json",
        after_help = "To hook it up: keep the file beside your spec, and begin the spec with the line\n\n  \
                      # yaml-language-server: $schema=tubewright.schema.json\n\n\
                      Specs from `tubewright init` begin with it. Any editor that uses the YAML language server reads \
                      the line; its setting `yaml.schemas` does the same for all specs of a folder: \
                      {\"tubewright.schema.json\": \"*.yaml\"}. The schema is draft 7; make it again after an update \
                      of the program."
    )]
    Schema {
        /// Of a file of readings instead, as `correct` reads it
        #[arg(long)]
        readings: bool,
    },
    /// Print the manual page of the program and all its commands
    #[command(before_help = "Examples:\n  \
        tubewright man | man -l -                      read it\n  \
        tubewright man --dir ~/.local/share/man/man1   a page for each command")]
    Man {
        /// Write a page for each command into this folder instead
        #[arg(long, value_name = "DIR")]
        dir: Option<PathBuf>,
    },
    /// Print shell completions
    #[command(before_help = "Examples:\n  \
        tubewright completions bash >> ~/.bash_completion\n  \
        tubewright completions zsh > ~/.zfunc/_tubewright\n  \
        tubewright completions fish > ~/.config/fish/completions/tubewright.fish")]
    Completions {
        /// The shell
        #[arg(value_enum)]
        shell: Shell,
    },
}

#[derive(Debug, Args)]
pub(super) struct StarterArguments {
    /// File to write; `-` prints it. An existing file is never overwritten
    #[arg(default_value = "runs.yaml")]
    pub(super) file: PathBuf,

    /// Unit of the spec's numbers
    #[arg(long, value_enum, default_value_t = Units::Mm)]
    pub(super) units: Units,

    /// Where the spec begins
    #[arg(long, value_enum, default_value_t = Beginning::Tube, value_name = "WHERE")]
    pub(super) from: Beginning,
}

#[derive(Debug, Args)]
pub(super) struct CheckArguments {
    #[command(flatten)]
    pub(super) specs: SpecArguments,

    /// Check and show only this run (repeatable)
    ///
    /// Findings are those of `build` with the same runs: clashes with the rest of the spec are told, what
    /// concerns other runs alone is not, and stock is cut for these runs only.
    #[arg(long = "run", value_name = "NAME")]
    pub(super) runs: Vec<String>,
}

#[derive(Debug, Args)]
pub(super) struct RouteArguments {
    /// The spec, YAML; `-` reads it from standard input
    #[arg(value_name = "SPEC")]
    pub(super) spec: PathBuf,

    /// Runs to show; all that have only ends where none is named
    #[arg(value_name = "RUN")]
    pub(super) runs: Vec<String>,

    /// Ways to find for each run
    #[arg(long, default_value_t = 3, value_name = "N", value_parser = clap::value_parser!(u8).range(1..=20))]
    pub(super) ways: u8,

    /// Write the corners of this way of the run into the spec; everything else in the file stays as it is
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u8).range(1..=20))]
    pub(super) take: Option<u8>,

    /// How long a search may take, counted in work: the answer is the same on every machine
    #[arg(long, default_value_t = 2.0, value_name = "S", value_parser = super::values::seconds)]
    pub(super) seconds: f64,

    /// Draw all ways side by side into this file
    #[arg(long, value_name = "FILE")]
    pub(super) svg: Option<PathBuf>,

    /// Print the report as text for people or as JSON for programs
    #[arg(long, value_enum, default_value_t = ReportFormat::Text)]
    pub(super) format: ReportFormat,
}

#[derive(Debug, Args)]
pub(super) struct CorrectArguments {
    /// The spec, YAML; `-` reads it from standard input
    #[arg(value_name = "SPEC")]
    pub(super) spec: PathBuf,

    /// The run that the tube is of
    #[arg(value_name = "RUN")]
    pub(super) run: String,

    /// What was measured, YAML; `-` reads it from standard input
    #[arg(value_name = "FILE")]
    pub(super) file: Option<PathBuf>,

    /// One reading, such as "bend 2 angle 88" (repeatable); it goes before that of the file
    #[arg(long = "set", value_name = "READING", allow_hyphen_values = true)]
    pub(super) set: Vec<String>,

    /// Write a file to fill in, with the plan's values beside; `-` prints it. An existing file is never overwritten
    #[arg(long, value_name = "FILE", conflicts_with_all = ["file", "set", "format"])]
    pub(super) write: Option<PathBuf>,

    /// Let straights be twisted, too, where that helps
    #[arg(long)]
    pub(super) twist: bool,

    /// Print the report as text for people or as JSON for programs
    #[arg(long, value_enum, default_value_t = ReportFormat::Text)]
    pub(super) format: ReportFormat,
}

/// What every command that reads specs takes.
#[derive(Debug, Args)]
pub(super) struct SpecArguments {
    /// The specs, YAML; `-` reads one from standard input
    #[arg(required = true, value_name = "SPEC")]
    pub(super) specs: Vec<PathBuf>,

    /// Treat warnings as errors
    #[arg(long)]
    pub(super) strict: bool,

    /// Print the report as text for people or as JSON for programs
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
    #[arg(long, value_delimiter = ',', value_name = "KINDS", value_parser = super::values::Formats)]
    pub(super) only: Vec<Format>,

    /// Write files of this run only (repeatable), into a folder of their own: only/NAME
    ///
    /// The folder is below the output folder, so that the whole loop's files stay as they are. Pictures, lists
    /// and the assembly in it hold no other run. Clashes with the rest of the spec are still told.
    #[arg(long = "run", value_name = "NAME")]
    pub(super) runs: Vec<String>,

    /// Paper: a5, a4, a3, a2, letter, legal, tabloid, or WIDTHxHEIGHT in mm
    #[arg(long, default_value = "a4", value_name = "PAPER", value_parser = super::values::paper)]
    pub(super) paper: tubewright::drawing::sheet::Paper,

    /// What a printed 100 mm bar measured across and up the sheet, such as 99.6,100.2
    ///
    /// Templates and strips are stretched to cancel the printer's error.
    #[arg(long, value_name = "X,Y", allow_hyphen_values = true, value_parser = super::values::printer_scale)]
    pub(super) printer_scale: Option<super::values::PrinterScale>,

    /// Thickness of the paper that strips are printed on, mm
    #[arg(long, default_value_t = tubewright::drawing::sheet::PAPER_THICKNESS_MM, value_name = "MM", allow_negative_numbers = true, value_parser = super::values::paper_thickness)]
    pub(super) paper_thickness: f64,

    /// How far the facets of an STL file may cut the true surface, mm
    #[arg(long, default_value_t = tubewright::tolerance::CHORD_MM, value_name = "MM", allow_negative_numbers = true, value_parser = super::values::chord)]
    pub(super) chord: f64,
}

/// Unit of a starter spec.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Units {
    /// Millimetres, with 15 mm tube
    Mm,
    /// Inches, with 5/8 in tube
    In,
}

/// Where a starter spec begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Beginning {
    /// With the tube and the bender
    Tube,
    /// With what the tubes must reach: components and their ports
    Ports,
}

/// When to colour messages. The help of the option explains each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Colour {
    Auto,
    Always,
    Never,
}

/// How reports are printed. The help of the option explains each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum ReportFormat {
    Text,
    Json,
}
