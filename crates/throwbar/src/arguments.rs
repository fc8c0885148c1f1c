//! The command line: one definition for parsing, help, the man page and the completions.

use crate::command::capture::Capture;
use crate::command::faults::Symptoms;
use crate::command::packet::PacketCommand;
use crate::command::routes::Narrowed;
use clap::{Parser, Subcommand, ValueEnum};
use draw::Grid;
use std::path::PathBuf;

/// From one description of a layout to its turnout controls: numbers, addresses, drawings, the binder, a live panel.
#[derive(Debug, Parser)]
#[command(name = "throwbar", version, max_term_width = 100, disable_help_subcommand = true)]
pub(crate) struct Arguments {
    /// Answer with one JSON document on standard output, and nothing else there.
    #[arg(long, global = true)]
    pub(crate) json: bool,

    /// Whether to colour what is printed. Nothing needs colour to be understood.
    #[arg(long, global = true, value_name = "WHEN", default_value = "auto")]
    pub(crate) color: Color,

    #[command(subcommand)]
    pub(crate) command: Command,
}

/// When to colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Color {
    /// On a terminal, unless `NO_COLOR` is set.
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Write a commented starting description into a new folder.
    New {
        /// The folder to make.
        #[arg(value_name = "DIR")]
        folder: PathBuf,
    },
    /// Find every problem, with its place and a way to mend it.
    Check(Layout),
    /// Decide, and print the decisions with their reasons.
    Plan {
        #[command(flatten)]
        layout: Layout,
        /// Write the plan down as built, in `as-built.toml` beside the layout: later plans leave all of it where it is.
        #[arg(long)]
        keep: bool,
        /// Add what was found in commissioning, from the journal of a live panel that is closed.
        #[arg(long, value_name = "JOURNAL", requires = "keep")]
        findings: Option<PathBuf>,
    },
    /// Print the work that leads from one layout, as it is built, to another: a work order in bench order.
    Changes {
        /// The layout that is built: its `layout.toml`, or the folder that holds it, with its `as-built.toml`.
        #[arg(value_name = "OLD")]
        old: PathBuf,
        /// The layout that is to be built. Without a record of its own it is planned beside that of OLD.
        #[arg(value_name = "NEW")]
        new: PathBuf,
    },
    /// Print one table of the plan.
    Show {
        /// Which table.
        what: What,
        #[command(flatten)]
        layout: Layout,
        #[command(flatten, next_help_heading = "Options for `show routes`")]
        narrowed: Narrowed,
        /// With `show locking`: print the levers that keep things out of each route's side, too.
        #[arg(long)]
        flank: bool,
        /// With `show power`: print the circuits as a netlist for a simulator instead.
        #[arg(long)]
        spice: bool,
        #[command(flatten, next_help_heading = "Options for `show faults`")]
        symptoms: Symptoms,
    },
    /// Draw one sheet.
    Draw {
        #[command(flatten)]
        layout: Layout,
        /// The file to write; its ending, `.svg`, `.dxf`, `.pdf` or `.png`, says as what.
        #[arg(short, long, value_name = "FILE")]
        output: PathBuf,
        /// Which sheet: schematic, panel:NAME, template:NAME, map, map:NAME, index, labels, gaps or diodes.
        #[arg(long, value_name = "SHEET", default_value = "schematic")]
        sheet: Sheet,
        /// Which side of the railroad the operator stands on.
        #[arg(long, value_name = "SIDE", default_value = "front")]
        from: Side,
        /// With a `.png`: how many dots to the inch; 200 where nothing is said.
        #[arg(long, value_name = "DOTS", value_parser = clap::value_parser!(u32).range(10..=2400))]
        dpi: Option<u32>,
        /// With `--sheet labels`: the labels of a sheet, columns by rows, in place of those of `[labels]`.
        #[arg(long, value_name = "COLUMNSxROWS", value_parser = grid)]
        grid: Option<Grid>,
    },
    /// Typeset the binder and draw its sheets.
    Binder {
        #[command(flatten)]
        layout: Layout,
        /// The folder to write into; it is made if it is not there.
        #[arg(short, long, value_name = "DIR")]
        output: PathBuf,
        /// The paper; without it, Letter for an imperial layout and A4 for a metric one.
        #[arg(long)]
        paper: Option<Paper>,
        /// The layout that is built: the binder begins with the change order that leads from it to this one. Without it, and with
        /// an as-built record that differs from the plan, with what leads from the record.
        #[arg(long, value_name = "OLD")]
        since: Option<PathBuf>,
        #[command(flatten)]
        part: BinderPart,
    },
    /// Make or read DCC packets, explained bit by bit, or put them in a row as a signal.
    #[command(arg_required_else_help = true)]
    Packet {
        /// Read one request a line from standard input, `encode 1 normal` or `decode 81 F9 78`, and answer each with one
        /// JSON object a line.
        #[arg(long)]
        batch: bool,
        #[command(subcommand)]
        what: Option<PacketCommand>,
    },
    /// Decode what a logic analyser saw on the rails: packets, faults, timing.
    Capture(Capture),
    /// Run the railroad in a browser.
    Serve {
        #[command(flatten)]
        layout: Layout,
        /// The port to listen on; 0 takes a free one.
        #[arg(long, default_value_t = serve::DEFAULT_PORT)]
        port: u16,
        /// The address to listen on. Only this machine can reach the usual one.
        #[arg(long, value_name = "ADDR", default_value = "127.0.0.1")]
        listen: std::net::IpAddr,
        /// The file that keeps what happened; without it, `operation.journal` beside the layout.
        #[arg(long, value_name = "FILE")]
        journal: Option<PathBuf>,
        /// Only print the address that other devices open, and its code, without any key; serve nothing.
        #[arg(long)]
        address: bool,
        /// Keep only so many days of rows in the journal; older ones are put aside in tables beside it.
        #[arg(long, value_name = "DAYS", value_parser = clap::value_parser!(u32).range(1..=36_500))]
        keep_days: Option<u32>,
        #[command(flatten)]
        tls: Tls,
    },
    /// Say what a diagnostic means, with an example, or list the keys of a table of the description.
    Explain {
        /// A code, such as `track-one-end`, or a table, such as `turnout`; without it, all codes are listed.
        code: Option<String>,
    },
    /// Print the completions for a shell.
    Completions {
        /// Which shell.
        shell: clap_complete::Shell,
    },
    /// Print the man page.
    Manual,
}

#[derive(Debug, clap::Args)]
pub(crate) struct Tls {
    /// Encipher what is sent, with a certificate that the panel makes for itself and keeps beside the journal. Each device asks about it
    /// once; its fingerprint is printed.
    #[arg(long = "tls")]
    self_made: bool,
    /// Encipher what is sent, with this certificate, and after it those that signed it, as PEM.
    #[arg(long = "tls-cert", value_name = "FILE", requires = "key", conflicts_with = "self_made")]
    certificate: Option<PathBuf>,
    /// The key of that certificate, as PEM.
    #[arg(long = "tls-key", value_name = "FILE", requires = "certificate")]
    key: Option<PathBuf>,
}

impl Tls {
    /// The certificate that is asked for; none when nothing is to be enciphered.
    pub(crate) fn wish(self) -> Option<serve::Tls> {
        match (self.certificate, self.key) {
            (Some(certificate), Some(key)) => Some(serve::Tls::Given { certificate, key }),
            _ => self.self_made.then_some(serve::Tls::SelfMade),
        }
    }
}

#[derive(Debug, clap::Args)]
pub(crate) struct Layout {
    /// The layout: its `layout.toml`, or the folder that holds it.
    #[arg(value_name = "LAYOUT", default_value = ".")]
    pub(crate) path: PathBuf,
}

/// The tables that `show` prints.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum What {
    /// Every control: number, name, machines, pair, address.
    Levers,
    /// Every path between two stops, with the levers it needs.
    Routes,
    /// Which routes exclude one another, and the most that can be set at once.
    Locking,
    /// What is at which accessory address, board and output.
    Addresses,
    /// Where the rails are cut so that polarity clashes nowhere.
    Polarity,
    /// Every wire: where it ends, how long to cut it, its colour and its labels.
    Wiring,
    /// What to have and what to buy.
    Parts,
    /// What buses lose, what a short in them draws, what feeds them, and what a meter reads.
    Power,
    /// From what was seen, with `--saw`, to the faults that explain it and the next test; without it, for each symptom.
    Faults,
    /// In which order to try everything, what to expect at each step, and what is wrong where it is not seen.
    Commissioning,
    /// What is good and bad about the track diagram.
    Drawing,
}

/// The sheets that `draw` draws.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Sheet {
    /// The track diagram.
    Schematic,
    /// The face of one panel, 1:1.
    Panel(String),
    /// The sheets to drill one panel by, 1:1.
    Template(String),
    /// The small map for the fascia, 1:1.
    Map,
    /// The same for one panel, the other panels' territory greyed.
    MapOf(String),
    /// The same with all panels and their numbers below it.
    Index,
    /// Number plates, labels of decoders and terminals, flags for wires, 1:1.
    Labels,
    /// Where both rails are cut.
    Gaps,
    /// The diodes of one-push routes.
    Diodes,
}

/// A grid of labels, as `3x8`.
fn grid(text: &str) -> Result<Grid, String> {
    let read = |text: &str, most: u16| text.parse().ok().filter(|count| (1..=most).contains(count));
    let pair = text.split_once(['x', '×']);
    pair.and_then(|(columns, rows)| Some(Grid { columns: read(columns, 40)?, rows: read(rows, 100)? }))
        .ok_or_else(|| "write columns and rows, such as 3x8, at most 40x100".to_owned())
}

impl std::str::FromStr for Sheet {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        match text.split_once(':') {
            Some(("panel", name)) => Ok(Self::Panel(name.to_owned())),
            Some(("map", name)) => Ok(Self::MapOf(name.to_owned())),
            Some(("template", name)) => Ok(Self::Template(name.to_owned())),
            _ => {
                match text {
                    "schematic" => Ok(Self::Schematic),
                    "map" => Ok(Self::Map),
                "index" => Ok(Self::Index),
                    "labels" => Ok(Self::Labels),
                    "gaps" => Ok(Self::Gaps),
                    "diodes" => Ok(Self::Diodes),
                    _ => Err("name one of schematic, panel:NAME, template:NAME, map, map:NAME, index, labels, gaps, diodes"
                        .to_owned()),
                }
            }
        }
    }
}

/// The sides of a railroad.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Side {
    /// The operating side, from which the description is written.
    Front,
    /// The other side: the diagram is turned by half a turn, so every hand stays true.
    Back,
}

/// The papers of the binder.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Paper {
    /// 8.5 by 11 inches.
    Letter,
    /// 210 by 297 mm.
    A4,
}

/// Which part of the binder is wanted, and what leads from paper to the live panel.
#[derive(clap::Args, Debug)]
pub(crate) struct BinderPart {
    /// Only these sheets, by their titles in the contents, with commas between them: `levers,track diagram`. They go into
    /// `sheets.pdf`, and nothing else is written.
    #[arg(long, value_name = "NAMES", value_delimiter = ',')]
    pub(crate) sheets: Vec<String>,
    /// Only what is needed at this place, such as `bay 3`: one PDF named for it, and nothing else is written.
    #[arg(long, value_name = "PLACE")]
    pub(crate) at: Option<String>,
    /// The operator's card, for a visitor, as `card.pdf` and nothing else: print both sides, turned over the short edge, and fold.
    #[arg(long, conflicts_with_all = ["sheets", "at", "since"])]
    pub(crate) card: bool,
    /// The address that a browser opens the live panel at, such as `http://192.168.1.20:7417`: sheets get a code for a camera.
    #[arg(long, value_name = "URL")]
    pub(crate) panel: Option<String>,
    /// Print a key of the live panel, too, as a code. Whoever sees that sheet can throw points.
    #[arg(long, value_name = "KEY", requires = "panel")]
    pub(crate) panel_key: Option<String>,
}
