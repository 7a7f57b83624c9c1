//! The command line, and nothing else.

mod command;

use std::process::ExitCode;

use camino::Utf8PathBuf;
use clap::{CommandFactory, Parser, Subcommand, ValueEnum};
use mimalloc::MiMalloc;
use ohmbook::record::Audience;

#[global_allocator]
static ALLOCATOR: MiMalloc = MiMalloc;

/// The design notebook that will not bind while a number in it is wrong.
#[derive(Parser)]
#[command(name = "ohmbook", version, about, after_help = EXAMPLES, max_term_width = 100)]
struct Cli {
    #[command(subcommand)]
    command: Option<Command>,
}

const EXAMPLES: &str = "\
Examples:
  ohmbook start my_boards                 lay out a small notebook to begin with
  ohmbook prove my_boards                 recompute everything and compare
  ohmbook prove my_boards --format json   the same, for programs
  ohmbook bind my_boards --to site        prove, then write the HTML notebook
  ohmbook bind my_boards --to shop --for customers
                                          the same, without what is the team's
  ohmbook watch my_boards --open          bind at every save, and follow in a browser
  ohmbook why charge_slow --of my_boards  where a number comes from
  ohmbook suppose R1=4k7 --of my_boards   what would change and what would break
  ohmbook choose charging --of my_boards  values that meet a working's targets
  ohmbook restate my_boards               write texts that hold where others do not
  ohmbook since HEAD~1 --of my_boards     what differs from an earlier state
  ohmbook emit my_boards                  write constants, tables and limits for firmware
  ohmbook stacks my_boards                which boards go together, and how to set their straps
  ohmbook thin my_boards                  which parts could be dropped from the line

Without a command, the notebook in `content` is bound into `bound`.

Exit codes: 0 all holds; 1 an error-level finding; 2 could not be read or written, or wrong usage.";

const WATCHING: &str = "\
Examples:
  ohmbook watch
  ohmbook watch my_boards --open
  ohmbook watch my_boards --port 4000

Nothing is written. While something stands against binding, the last sheets that held stay up with
the findings laid over them; they go by themselves once mended. A page that is open keeps its place
and what is open in it.

Exit codes: 0 ended by Ctrl-C, whatever the findings; 2 nothing could be watched or served there.";

const BINDING: &str = "\
Examples:
  ohmbook bind my_boards --to site
  ohmbook bind my_boards --to shop --for customers

The customers' notebook has the front sheets, the calculation sheets with the figures that are for
customers, pins, and the parts in use. It leaves out what the records mark with `audience =
\"team\"`, boards that are only a concept, every other written sheet, the log, fixtures, readings,
prices and what hangs on them, expected yields, and findings with their waivers; and each derivation
that would give one of these away. No link leads there.

Exit codes: 0 bound; 1 an error-level finding, and nothing was written; 2 could not be read or
written, or wrong usage.";

const EMITTING: &str = "\
Examples:
  ohmbook emit
  ohmbook emit my_boards

`[[emit]]` in `notebook.toml` names the files; the form follows from the ending .h, .rs, .py, .csv or
.json. `ohmbook prove` tells of a file on the disk that is not what would be written.

Each file is written whole or not at all, and none while anything else in the notebook does not hold.
A file that `ohmbook emit` did not write is not replaced.

Exit codes: 0 all files are up to date; 1 an error-level finding, or a file was not replaced; 2 could
not be read or written, or wrong usage.";
const SUPPOSING: &str = "\
Examples:
  ohmbook suppose R1=4k7 --of my_boards           another value, with the tolerance of the fitted part
  ohmbook suppose cell_charger.R1=res_3k3         a part from stock
  ohmbook suppose res_5k1=res_3k3                 the same in every place that carries it
  ohmbook suppose R1='±0.1 %' R2=empty            a closer tolerance, and a place left empty
  ohmbook suppose U1.quiescent='1 mA to 2 mA'     another quantity of a part; given figures likewise
  ohmbook suppose policy.spread=root-sum-square   another way of counting
  ohmbook suppose cell_charger.revision=A         a board as it was
  ohmbook suppose R1=4k7..6k2 --series E96        a sweep, and the range in which everything holds

Nothing is written. A sweep finds the ends of the range to digits, between the last of its points
that holds and the first that does not; what comes and goes between two points is not seen.

Exit codes: 0 nothing breaks, or the sweep has a range in which every requirement holds; 1 something
breaks, or there is no such range; 2 could not be read, or wrong usage.";
const RESTATING: &str = "\
Examples:
  ohmbook restate my_boards         shows the change, and asks on a terminal
  ohmbook restate my_boards --yes   shows the change and writes it
  ohmbook restate my_boards > change.patch

Every text that disagrees with its figure is written as it would hold, in the form it has; all else
in a file stays as it is, and so does whatever is required or given. Files are written all or none,
and none that changed since it was read.

Exit codes: 0 every text holds, or was written; 1 texts were only shown, or some have to be changed
by hand; 2 could not be read or written, or wrong usage.";
const COMPARING: &str = "\
Examples:
  ohmbook since ../last_year --of my_boards   a folder with the earlier notebook
  ohmbook since cell_charger.A                a revision of a board
  ohmbook since HEAD~3                        a commit of the git repository round the notebook
  ohmbook since v1.0 --to site                the same as a sheet, bound with all others

Figures, limits of fixtures, parts and pins are compared, and the stated texts that follow are named.

Exit codes: 0 compared; 1 compared, and not bound since the notebook does not hold; 2 could not be
read or written, or wrong usage.";
const STACKING: &str = "\
Examples:
  ohmbook stacks
  ohmbook stacks my_boards --on trail_module
  ohmbook stacks --board carrier --board sound_post --board stone_chime

Without boards, every stack is shown that no board can be added to, with the settings that make it
work, and every pair that does not go together, with the smallest reason. What is lacking, such as a
supply or pull-ups that another board brings, is said with each stack.

Exit codes: 0 shown, or the boards that were named go together and lack nothing; 1 they do not;
2 could not be read, or wrong usage.";

const THINNING: &str = "\
Examples:
  ohmbook thin
  ohmbook thin my_boards --patch > thinner.patch
  ohmbook thin my_boards --patch --part res_12k
  ohmbook thin my_boards --granted

Every part is tried in the places of every other one of its kind and package, and the notebook is
recomputed each time. Stated texts may change; what is required, related, rated or limited must still
hold. Where nothing is required of what a part does, somebody has to be asked; the reasons say so, and
`--granted` shows what would come of a yes. Nothing is written; the patch is a unified diff.

Exit codes: 0 shown, whether or not a part could go; 2 could not be read, or wrong usage.";

#[derive(Subcommand)]
enum Command {
    /// Lay out a small working notebook of your own
    #[command(after_help = "Example:\n  ohmbook start my_boards")]
    Start {
        /// Folder to make; it must be empty or not there yet
        dir: Utf8PathBuf,
    },
    /// Recompute everything and compare
    #[command(
        after_help = "Examples:\n  ohmbook prove\n  ohmbook prove my_boards --notes\n  ohmbook prove my_boards --format json > findings.json"
    )]
    Prove {
        /// The notebook's folder [default: this folder, or `content` in it]
        dir: Option<Utf8PathBuf>,
        #[command(flatten)]
        report: Report,
    },
    /// Prove, then write the HTML notebook whole or not at all
    #[command(after_help = BINDING)]
    Bind {
        /// The notebook's folder [default: this folder, or `content` in it]
        dir: Option<Utf8PathBuf>,
        /// Folder to write; replaced only if it was written by `bind`
        #[arg(long, value_name = "OUT")]
        to: Utf8PathBuf,
        /// Whom it is for: the team, who get everything, or customers
        #[arg(long = "for", value_name = "AUDIENCE", value_enum, default_value_t = Readers::Team)]
        readers: Readers,
        #[command(flatten)]
        report: Report,
    },
    /// Bind at every save and serve it on this computer, open pages following
    #[command(after_help = WATCHING)]
    Watch {
        /// The notebook's folder [default: this folder, or `content` in it]
        dir: Option<Utf8PathBuf>,
        #[command(flatten)]
        place: command::watch::Place,
    },
    /// Show where a figure comes from, what makes its spread, and what depends on it
    #[command(
        after_help = "Examples:\n  ohmbook why charge_slow\n  ohmbook why cell_charger.R1 --of my_boards"
    )]
    Why {
        /// Name of a figure or a designator, with its board where several have one
        figure: String,
        /// The notebook's folder [default: this folder, or `content` in it]
        #[arg(long, value_name = "DIR")]
        of: Option<Utf8PathBuf>,
    },
    /// Show what would change and what would break with other parts, values or policies
    #[command(after_help = SUPPOSING)]
    Suppose {
        /// What would be otherwise: a part, a value, a tolerance, a policy, a revision; or a sweep
        #[arg(required = true, value_name = "NAME=VALUE")]
        wishes: Vec<String>,
        /// The notebook's folder [default: this folder, or `content` in it]
        #[arg(long, value_name = "DIR")]
        of: Option<Utf8PathBuf>,
        /// Sweep through a series of preferred values (IEC 60063), E3 to E192
        #[arg(long)]
        series: Option<String>,
        /// Points of a sweep in equal steps
        #[arg(long, default_value_t = 21, conflicts_with = "series", value_parser = clap::value_parser!(u16).range(2..=1000))]
        points: u16,
        /// Show values on the way to figures too
        #[arg(long)]
        all: bool,
        /// How to print the answer
        #[arg(long, value_enum, default_value_t = Format::Text)]
        format: Format,
    },
    /// Find values from preferred series or from stock that meet a working's targets
    #[command(
        after_help = "Examples:\n  ohmbook choose charging\n  ohmbook choose cell_charger.charging --series E96 --from 1k --up-to 100k\n  ohmbook choose charging --series E24 --target 'off off=50 mA' --target 'on off=100 mA' --target 'off on=250 mA' --target 'on on=500 mA'"
    )]
    Choose {
        /// Id of the working, with its board where several have one
        working: String,
        /// The notebook's folder [default: this folder, or `content` in it]
        #[arg(long, value_name = "DIR")]
        of: Option<Utf8PathBuf>,
        /// Series of preferred values (IEC 60063), E3 to E192 [default: the parts in stock]
        #[arg(long)]
        series: Option<String>,
        /// Lowest value of the series
        #[arg(long, default_value = "1k")]
        from: String,
        /// Highest value of the series
        #[arg(long, default_value = "100k")]
        up_to: String,
        /// Tolerance of values from the series [default: the usual one of the series]
        #[arg(long)]
        tolerance: Option<String>,
        /// What a result should be, as `off on=250 mA ± 5 %` [default: what the record requires or says]
        #[arg(long = "target", value_name = "RESULT=VALUE")]
        targets: Vec<String>,
        /// How many choices to show
        #[arg(long, default_value_t = 3)]
        show: usize,
    },
    /// Write texts that hold in the place of those that do not
    #[command(after_help = RESTATING)]
    Restate {
        /// The notebook's folder [default: this folder, or `content` in it]
        dir: Option<Utf8PathBuf>,
        /// Write without asking
        #[arg(long)]
        yes: bool,
    },
    /// Show what differs from an earlier state of the notebook
    #[command(after_help = COMPARING)]
    Since {
        /// A folder with the earlier notebook, a revision of a board, or a commit
        #[arg(value_name = "DIR-OR-REV")]
        earlier: String,
        /// The notebook's folder [default: this folder, or `content` in it]
        #[arg(long, value_name = "DIR")]
        of: Option<Utf8PathBuf>,
        /// Folder to bind the notebook into, with a sheet on what differs
        #[arg(long, value_name = "OUT")]
        to: Option<Utf8PathBuf>,
        /// How to print what differs
        #[arg(long, value_enum, default_value_t = Format::Text)]
        format: Format,
    },
    /// Write constants, tables and limits for firmware
    #[command(after_help = EMITTING)]
    Emit {
        /// The notebook's folder [default: this folder, or `content` in it]
        dir: Option<Utf8PathBuf>,
        /// Print notes as well as errors and cautions
        #[arg(long)]
        notes: bool,
    },
    /// Show which boards go together on a module, how to set their straps, and why others do not
    #[command(after_help = STACKING)]
    Stacks {
        /// The notebook's folder [default: this folder, or `content` in it]
        dir: Option<Utf8PathBuf>,
        /// Module to stack on [default: each of the notebook's]
        #[arg(long, value_name = "MODULE")]
        on: Option<String>,
        /// Board that shall be in the stack; name it again for each further one
        #[arg(long = "board", value_name = "BOARD")]
        boards: Vec<String>,
        /// How many stacks to show
        #[arg(long, default_value_t = 20)]
        show: usize,
    },
    /// Find parts that could be dropped from the line with everything that is required still holding
    #[command(after_help = THINNING)]
    Thin {
        /// The notebook's folder [default: this folder, or `content` in it]
        dir: Option<Utf8PathBuf>,
        /// Print only the changes to the notebook's files, as a unified diff
        #[arg(long)]
        patch: bool,
        /// Print the patch of this part alone
        #[arg(long, value_name = "PART", requires = "patch")]
        part: Option<String>,
        /// Take what somebody would have to be asked about as answered with yes
        #[arg(long)]
        granted: bool,
        /// How many questions, and how many swaps that broke something, to show
        #[arg(long, default_value_t = 8)]
        show: usize,
    },
    /// Print the JSON Schema of every record
    Schema,
    /// Print the completions of a shell
    #[command(hide = true)]
    Completions {
        /// The shell
        shell: clap_complete::Shell,
    },
    /// Print the manual page
    #[command(hide = true)]
    Manual,
}

#[derive(clap::Args)]
struct Report {
    /// How to print findings
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Print notes as well as errors and cautions
    #[arg(long)]
    notes: bool,
}

#[derive(Clone, Copy, PartialEq, ValueEnum)]
enum Format {
    /// For people
    Text,
    /// For programs: a documented, versioned form
    Json,
}

/// Whom a bound notebook is for.
#[derive(Clone, Copy, PartialEq, ValueEnum)]
enum Readers {
    /// The team and contributors: everything
    Team,
    /// Customers: without what is the team's
    Customers,
}

impl From<Readers> for Audience {
    fn from(readers: Readers) -> Audience {
        match readers {
            Readers::Team => Audience::Team,
            Readers::Customers => Audience::Customers,
        }
    }
}

fn main() -> ExitCode {
    let outcome = match Cli::parse().command {
        None if command::is_notebook("content".into()) => command::bind::run(
            "content".into(),
            "bound".into(),
            Audience::Team,
            false,
            false,
        ),
        None => {
            let help = Cli::command().render_help().to_string();
            command::say(&help).map(|()| command::Outcome::Unreadable)
        }
        Some(Command::Start { dir }) => command::start::run(&dir),
        Some(Command::Prove { dir, report }) => command::notebook_folder(dir)
            .and_then(|dir| command::prove::run(&dir, report.format == Format::Json, report.notes)),
        Some(Command::Bind {
            dir,
            to,
            readers,
            report,
        }) => command::notebook_folder(dir).and_then(|dir| {
            let json = report.format == Format::Json;
            command::bind::run(&dir, &to, readers.into(), json, report.notes)
        }),
        Some(Command::Watch { dir, place }) => {
            command::notebook_folder(dir).and_then(|dir| command::watch::run(&dir, &place))
        }
        Some(Command::Why { figure, of }) => {
            command::notebook_folder(of).and_then(|dir| command::why::run(&dir, &figure))
        }
        Some(Command::Choose {
            working,
            of,
            series,
            from,
            up_to,
            tolerance,
            targets,
            show,
        }) => command::notebook_folder(of).and_then(|dir| {
            let asked = command::choose::Asked {
                working,
                series,
                from,
                up_to,
                tolerance,
                targets,
                show,
            };
            command::choose::run(&dir, &asked)
        }),
        Some(Command::Suppose {
            wishes,
            of,
            series,
            points,
            all,
            format,
        }) => command::notebook_folder(of).and_then(|dir| {
            let asked = command::suppose::Asked {
                wishes,
                series,
                points: points.into(),
                all,
                json: format == Format::Json,
            };
            command::suppose::run(&dir, &asked)
        }),
        Some(Command::Since {
            earlier,
            of,
            to,
            format,
        }) => command::notebook_folder(of)
            .and_then(|dir| command::since::run(&dir, &earlier, to, format == Format::Json)),
        Some(Command::Restate { dir, yes }) => {
            command::notebook_folder(dir).and_then(|dir| command::restate::run(&dir, yes))
        }
        Some(Command::Emit { dir, notes }) => {
            command::notebook_folder(dir).and_then(|dir| command::emit::run(&dir, notes))
        }
        Some(Command::Stacks {
            dir,
            on,
            boards,
            show,
        }) => command::notebook_folder(dir).and_then(|dir| {
            let asked = command::stacks::Asked { on, boards, show };
            command::stacks::run(&dir, &asked)
        }),
        Some(Command::Thin {
            dir,
            patch,
            part,
            granted,
            show,
        }) => command::notebook_folder(dir).and_then(|dir| {
            let asked = command::thin::Asked {
                patch,
                part,
                granted,
                show,
            };
            command::thin::run(&dir, &asked)
        }),
        Some(Command::Schema) => command::schema(),
        Some(Command::Completions { shell }) => {
            let mut bytes = Vec::new();
            clap_complete::generate(shell, &mut Cli::command(), "ohmbook", &mut bytes);
            let script = String::from_utf8_lossy(&bytes);
            command::say(&script).map(|()| command::Outcome::Holds)
        }
        Some(Command::Manual) => command::manual(&Cli::command()),
    };
    command::exit(outcome)
}
