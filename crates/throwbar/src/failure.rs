//! Why a command could not do its work. A layout with errors is not among these: that is an answer.

use std::path::PathBuf;

/// Something in the world that stopped a command.
#[derive(Debug, thiserror::Error)]
pub(crate) enum Failure {
    /// The layout cannot be read.
    #[error("cannot read the layout {}", path.display())]
    Read {
        /// The file.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// The record beside the layout is there and cannot be read.
    #[error("cannot read the record of what is built, {}", path.display())]
    ReadRecord {
        /// The file.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// What would be written down as built could not be read again.
    #[error("{} was not written: two things in it would be at odds: {says}", path.display())]
    RecordUnsound {
        /// The file.
        path: PathBuf,
        /// What reading it would say.
        says: String,
    },
    /// The path is a folder without a layout.
    #[error("the folder {} holds no layout.toml", path.display())]
    NoLayout {
        /// The folder.
        path: PathBuf,
    },
    /// `layout.toml` itself is a folder.
    #[error("{} is a folder, not a layout file", path.display())]
    Folder {
        /// The path.
        path: PathBuf,
    },
    /// A file cannot be written.
    #[error("cannot write {}", path.display())]
    Write {
        /// The file.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// `new` would overwrite.
    #[error("{} is there already; name a new folder", path.display())]
    Exists {
        /// The path.
        path: PathBuf,
    },
    /// `explain` knows no such code.
    #[error("there is no diagnostic `{code}`{hint}")]
    CodeUnknown {
        /// What was asked for.
        code: String,
        /// A nearer one, in words.
        hint: String,
    },
    /// A name on the command line that the layout does not know.
    #[error("the layout has no {what} `{name}`{hint}")]
    NameUnknown {
        /// What was asked for.
        what: &'static str,
        /// Its name.
        name: String,
        /// A nearer one, in words.
        hint: String,
    },
    /// An address of the live panel that no telephone can open.
    #[error(
        "`--panel {url}`: {why}; write the address that a browser opens it at, such as http://192.168.1.20:7417"
    )]
    PanelUnusable {
        /// What was written.
        url: String,
        /// What is wrong with it.
        why: &'static str,
    },
    /// An option that the table asked for has no use for.
    #[error("{option} is for `show {table}`")]
    OptionElsewhere {
        /// The option.
        option: &'static str,
        /// The table that has a use for it.
        table: &'static str,
    },
    /// What was seen is said in words that mean nothing here.
    #[error("`{written}` says nothing that can be looked at here; {help}")]
    SawNothing {
        /// What was written.
        written: String,
        /// What may be written.
        help: String,
    },
    /// Two things were seen that cannot both be.
    #[error("both `{one}` and `{other}` were said; leave out what is no longer so")]
    SawBoth {
        /// The one.
        one: String,
        /// The other.
        other: String,
    },
    /// `--grid` with another sheet than labels.
    #[error("--grid is for `draw --sheet labels`")]
    GridElsewhere,
    /// Labels of this grid cannot be read.
    #[error("labels of this grid would be too small to read; count the labels of your sheet again")]
    GridTooFine,
    /// `draw` writes no such kind of file.
    #[error("{} does not end in .svg, .dxf, .pdf or .png, which are the kinds of files that `draw` writes", path.display())]
    FileKind {
        /// The path.
        path: PathBuf,
    },
    /// The layout has nothing that the sheet shows.
    #[error("the layout has nothing for this sheet to show, so {} was not written", path.display())]
    NothingToDraw {
        /// The path.
        path: PathBuf,
    },
    /// Dots for a file that has none.
    #[error("--dpi is for a .png, and {} is none", path.display())]
    DotsElsewhere {
        /// The path.
        path: PathBuf,
    },
    /// A drawing cannot be made as this kind of file.
    #[error("cannot make {}", path.display())]
    Draw {
        /// The file it was for.
        path: PathBuf,
        /// Why.
        source: Box<dyn std::error::Error>,
    },
    /// The binder cannot be made.
    #[error("cannot make the binder")]
    Typeset {
        /// Why.
        source: Box<binder::Error>,
    },
    /// The live panel cannot be served.
    #[error("cannot serve the panel")]
    Serve {
        /// Why.
        source: Box<serve::ServeError>,
    },
    /// What was found cannot be had from a journal.
    #[error("nothing was kept")]
    Findings {
        /// Why.
        source: Box<serve::FindingsError>,
    },
    /// The threads of the live panel cannot be started.
    #[error("cannot start serving")]
    Runtime {
        /// Why.
        source: std::io::Error,
    },
    /// The words of a request make no packet.
    #[error("{0}")]
    Request(String),
    /// Standard input cannot be read.
    #[error("cannot read the requests")]
    Input {
        /// Why.
        source: std::io::Error,
    },
    /// The capture cannot be read.
    #[error("cannot read the capture {}", path.display())]
    ReadCapture {
        /// The file.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// The capture holds no signal that could be looked at.
    #[error("{0}")]
    NoSignal(String),
    /// A picture of a packet that is not there.
    #[error("there is no packet {packet} to draw; the capture has {packets}")]
    NoPacket {
        /// Its number.
        packet: u64,
        /// How many there are.
        packets: u64,
    },
    /// A packet is drawn as no such kind of file.
    #[error("{} does not end in .svg, which is the kind of file that a packet is drawn as", path.display())]
    PictureKind {
        /// The path.
        path: PathBuf,
    },
    /// A signal is written as no such kind of file.
    #[error("{} does not end in .vcd or .csv, which are the kinds of files that a signal is written as", path.display())]
    SignalKind {
        /// The path.
        path: PathBuf,
    },
    /// What was printed could not be.
    #[error("cannot print the answer")]
    Print {
        /// Why.
        source: std::io::Error,
    },
}
