//! `[link.*]`: what moves the machines while the railroad runs.

use super::table::{Table, kind_of};
use crate::model::{Bytes, Description, Link, LinkKind, Name, Port, SocketName};
use crate::template::{Template, TemplateError, TemplateFault, field_names};
use notice::{Diagnostic, Spanned, code, suggest};
use toml::de::DeValue;

/// Bits a second where nothing is said: what most such devices start with (common practice, no source).
const BAUD_USUAL: u32 = 9_600;

/// The fewest and the most bits a second of serial ports.
const BAUD: std::ops::RangeInclusive<u32> = 300..=4_000_000;

#[derive(Clone, Copy)]
enum Kind {
    Simulator,
    LayoutBus,
    Broker,
    Bytes,
}

pub(super) fn link(id: Name, mut table: Table<'_, '_>, description: &mut Description) {
    let kinds = [
        ("simulator", Kind::Simulator),
        ("layout bus", Kind::LayoutBus),
        ("broker", Kind::Broker),
        ("bytes", Kind::Bytes),
    ];
    table.need("kind");
    let kind = table.choice("kind", &kinds);
    let moves = table.names("moves");
    let read = match kind {
        None => {
            // What it would need is not known, so nothing is said of the other keys.
            for key in ["to", "node", "topic", "name", "baud", "throw", "stop", "free", "confirm"] {
                let _ = table.value(key);
            }
            None
        }
        Some(Kind::Simulator) => Some(LinkKind::Simulator),
        Some(Kind::LayoutBus) => layout_bus(&mut table),
        Some(Kind::Broker) => broker(&mut table),
        Some(Kind::Bytes) => bytes(&mut table).map(LinkKind::Bytes),
    };
    table.close();
    match read {
        Some(kind) => description.links.push(Link { id, kind, moves }),
        None => {
            description.unread.ids.insert(id.value);
        }
    }
}

fn layout_bus(table: &mut Table<'_, '_>) -> Option<LinkKind> {
    let to = socket(table, "192.168.1.20:12021");
    let node = table.needed_name("node");
    let node = node.filter(|node| {
        let is_node = is_node_id(&node.value);
        if !is_node {
            let says = format!("`{}` is no name of a node", node.value);
            table.note(Diagnostic::error(code::NODE_ID_UNREADABLE, node.span, says).help(
                "write six bytes of your own range as pairs of hexadecimal digits, such as \"05.01.01.01.7F.21\"",
            ));
        }
        is_node
    });
    Some(LinkKind::LayoutBus { to: to?, node: node? })
}

/// Six pairs of hexadecimal digits, not all of them zero.
fn is_node_id(text: &str) -> bool {
    let is_pair = |pair: &str| pair.len() == 2 && pair.bytes().all(|digit| digit.is_ascii_hexdigit());
    text.split('.').count() == 6
        && text.split('.').all(is_pair)
        && text.bytes().any(|byte| !b"0.".contains(&byte))
}

fn broker(table: &mut Table<'_, '_>) -> Option<LinkKind> {
    let to = socket(table, "192.168.1.5:1883");
    let topic = table.needed_name("topic");
    let topic = topic.filter(|topic| {
        // Wildcards belong to those who listen: MQTT 5, section 4.7.1.
        let wild = topic.value.contains(['+', '#']) || topic.value.starts_with(['$', '/']);
        if wild {
            let says = format!("topics cannot begin with `{}`", topic.value);
            let note = Diagnostic::error(code::TOPIC_UNUSABLE, topic.span, says);
            table.note(note.help("write a word of your own without + and #, such as \"tern-harbor\""));
        }
        !wild
    });
    let name = table.name("name");
    Some(LinkKind::Broker { to: to?, topic: topic?, name })
}

fn bytes(table: &mut Table<'_, '_>) -> Option<Bytes> {
    let baud = baud(table);
    let to = table.needed_name("to");
    let to = to.and_then(|to| {
        let port = if to.value.contains(':') && !to.value.starts_with('/') && !is_windows_port(&to.value) {
            SocketName::read(&to.value).map(Port::Network)
        } else {
            Some(Port::Serial { path: to.value.clone(), baud })
        };
        if port.is_none() {
            unreadable(table, &to, "\"/dev/ttyUSB0\" or \"192.168.1.30:2560\"");
        }
        Some(Spanned::new(port?, to.span))
    });
    table.need("throw");
    let throw = template(table, "throw", Template::sent);
    let stop = template(table, "stop", Template::words);
    let free = template(table, "free", Template::words);
    let confirm = template(table, "confirm", Template::heard);
    Some(Bytes { to: to?, throw: throw?, stop, free, confirm })
}

/// Bits a second.
fn baud(table: &mut Table<'_, '_>) -> u32 {
    let Some(value) = table.value("baud") else { return BAUD_USUAL };
    let number = match value.get_ref() {
        DeValue::Integer(number) => Some(number.as_str().replace('_', "")),
        DeValue::String(_)
        | DeValue::Float(_)
        | DeValue::Boolean(_)
        | DeValue::Datetime(_)
        | DeValue::Array(_)
        | DeValue::Table(_) => None,
    };
    let number = number.and_then(|number| number.parse().ok());
    number.filter(|number| BAUD.contains(number)).unwrap_or_else(|| {
        let says = format!("`baud` is not from {} to {}", BAUD.start(), BAUD.end());
        let note = Diagnostic::error(code::NUMBER_OUT_OF_RANGE, value.span().into(), says);
        table.note(note.help("write the bits a second that the device is set to, such as baud = 9600"));
        BAUD_USUAL
    })
}

/// `COM3:` names a serial port on some systems.
fn is_windows_port(text: &str) -> bool {
    text.ends_with(':')
}

fn socket(table: &mut Table<'_, '_>, example: &str) -> Option<Spanned<SocketName>> {
    let to = table.needed_name("to")?;
    let Some(socket) = SocketName::read(&to.value) else {
        unreadable(table, &to, &format!("\"{example}\""));
        return None;
    };
    Some(Spanned::new(socket, to.span))
}

fn unreadable(table: &mut Table<'_, '_>, to: &Name, example: &str) {
    let says = format!("`{}` is no address of a link", to.value);
    let help = format!("write its host and port, such as {example}");
    table.note(Diagnostic::error(code::LINK_ADDRESS_UNREADABLE, to.span, says).help(help));
}

fn template(
    table: &mut Table<'_, '_>,
    key: &'static str,
    read: fn(&str) -> Result<Template, TemplateError>,
) -> Option<Spanned<Template>> {
    let value = table.value(key)?;
    let example = table.example(key);
    let span = value.span().into();
    let Some(text) = value.get_ref().as_str() else {
        let help = format!("write {key} = \"{example}\"");
        table.wrong_kind(span, key, kind_of(value.get_ref()), "words with fields in braces", help);
        return None;
    };
    match read(text) {
        Ok(template) => Some(Spanned::new(template, span)),
        Err(TemplateError { fault, at }) => {
            let around = text.get(at).unwrap_or_default();
            let is_short = matches!(fault, TemplateFault::Brace | TemplateFault::Digits(_));
            let says = if is_short {
                format!("`{key}`: {fault} in `{around}`")
            } else {
                format!("`{key}`: {fault}")
            };
            let near = if let TemplateFault::FieldUnknown(name) = &fault {
                suggest(table.found(), name, field_names())
            } else {
                None
            };
            let help = match (near, &fault) {
                (Some(near), _) => format!("did you mean {{{near}}}?"),
                (None, TemplateFault::Brace) => "for the brace itself write it twice".to_owned(),
                (None, TemplateFault::Digits(_)) => {
                    "write 1 to 8 digits after a number, such as {address 4}".into()
                }
                (None, _) => {
                    let names: Vec<String> = field_names().map(|name| format!("{{{name}}}")).collect();
                    format!("write it such as \"{example}\"; the fields are {}", names.join(", "))
                }
            };
            table.note(Diagnostic::error(code::TEMPLATE_UNREADABLE, span, says).help(help));
            None
        }
    }
}
