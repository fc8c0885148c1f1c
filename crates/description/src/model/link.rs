//! `[link.*]`: what moves the machines while the railroad runs, as it is written.

use super::Name;
use crate::template::Template;
use notice::Spanned;

/// `[link.*]`.
#[derive(Clone, Debug)]
pub struct Link {
    /// What the user calls it.
    pub id: Name,
    /// What it is.
    pub kind: LinkKind,
    /// The lines and levers that it moves; absent: all that no other link names.
    pub moves: Option<Vec<Name>>,
}

/// What is at the other end.
#[derive(Clone, Debug)]
pub enum LinkKind {
    /// A modelled layout, in this program.
    Simulator,
    /// The open layout bus.
    LayoutBus {
        /// Where it is met.
        to: Spanned<SocketName>,
        /// The name of the node that this program is: six bytes as pairs of hexadecimal digits with dots between.
        node: Name,
    },
    /// A message broker.
    Broker {
        /// Where it is met.
        to: Spanned<SocketName>,
        /// What all its topics begin with.
        topic: Name,
        /// What the other panels on it call this one; absent: the layout's name.
        name: Option<Name>,
    },
    /// Bytes of the user's own wording.
    Bytes(Bytes),
}

/// A host and a port.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SocketName {
    /// A name or an address.
    pub host: String,
    /// From 1 on.
    pub port: u16,
}

/// A link of bytes of the user's own wording.
#[derive(Clone, Debug)]
pub struct Bytes {
    /// Where they go.
    pub to: Spanned<Port>,
    /// What is sent for a throw.
    pub throw: Spanned<Template>,
    /// What is sent to stop everything, and to free it again.
    pub stop: Option<Spanned<Template>>,
    /// What is sent to free everything again.
    pub free: Option<Spanned<Template>>,
    /// How a row that comes in says where a machine stands.
    pub confirm: Option<Spanned<Template>>,
}

/// Where bytes go.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Port {
    /// A serial port of this computer, at so many bits a second.
    Serial {
        /// Its file.
        path: String,
        /// Bits a second.
        baud: u32,
    },
    /// A stream over the network.
    Network(SocketName),
}

impl SocketName {
    /// Reads `host:port`; none where either is missing.
    ///
    /// # Example
    /// ```
    /// use description::SocketName;
    /// assert_eq!(SocketName::read("harbor.local:1883").unwrap().port, 1883);
    /// assert_eq!(SocketName::read("harbor.local"), None);
    /// ```
    pub fn read(text: &str) -> Option<Self> {
        let (host, port) = text.rsplit_once(':')?;
        let port = port.parse().ok().filter(|port| *port > 0)?;
        let is_plain = |letter: char| !letter.is_whitespace() && !letter.is_control() && letter != '/';
        // A colon inside belongs to an address in brackets.
        let is_whole = !host.contains(':') || host.starts_with('[') && host.ends_with(']');
        (!host.is_empty() && host.chars().all(is_plain) && is_whole)
            .then(|| Self { host: host.to_owned(), port })
    }
}
