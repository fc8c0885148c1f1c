//! Plans made by hand, until the front ends that make them from text are there.

use description::{Description, EndKind, Hand, LayoutFacts, Pins};
use measure::{Length, Units};
use network::{
    Joint, JointId, JointKind, Lever, LeverId, Line, LineId, Machine, MachineId, Move, MoveShape, Network, Pass, Port,
    Position, ROUTES_MAX, Track, TrackId, find_routes,
};
use notice::{Because, Decided, Rule, Span};
use packet::UserAddress;
use plan::model::{Chain, Control, Decoder, PartNeed, Plan, PlannedAddress, PlannedLever, Strip, StripFeed};

static BY_HAND: Rule = Rule { name: "by-hand", sentence: "{} was chosen by hand for a test" };

fn by_hand<T>(value: T, what: &str) -> Decided<T> {
    Decided::new(value, Because::new(&BY_HAND, [what.into()]))
}

/// A main with one turnout after another, each to a spur of its own; `name` names the turnout of each index.
pub(crate) fn spurs(layout: &str, count: usize, name: impl Fn(usize) -> String) -> Plan {
    let network = network_of_spurs(layout, count, name);
    let routes = find_routes(&network, ROUTES_MAX).routes;
    let address = |index: usize| UserAddress::new(u16::try_from(index + 1).unwrap()).unwrap();
    let levers = (0..count)
        .map(|index| PlannedLever {
            lever: LeverId::at(index),
            number: by_hand(u16::try_from(index + 1).unwrap(), "this number"),
            line: Some(LineId::at(0)),
            control: Some(Control { strip: index / 12, pair: u16::try_from(index % 12 + 1).unwrap() }),
            address: by_hand(address(index), "this address"),
        })
        .collect();
    let addresses = (0..count)
        .map(|index| PlannedAddress {
            address: address(index),
            lever: LeverId::at(index),
            machines: vec![MachineId::at(index)],
            decoder: Some(index / 8),
        })
        .collect();
    let decoders = (0..count.div_ceil(8))
        .map(|index| Decoder {
            id: format!("D{}", index + 1),
            part: "eight output decoder".into(),
            at: Some(by_hand(format!("bay {}", index + 1), "this bay")),
            first: by_hand(address(index * 8), "this start"),
            outputs: 8,
        })
        .collect();
    let strips: Vec<Strip> = (0..count.div_ceil(12))
        .map(|index| Strip {
            panel: format!("panel {}", index + 1),
            span: Span::default(),
            at: Some("fascia, west".into()),
            part: "twelve pair strip".into(),
            chain: 1,
            first: by_hand(address(index * 12), "this start"),
            pairs: (0..12).map(|pair| (index * 12 + pair < count).then(|| LeverId::at(index * 12 + pair))).collect(),
            feed: by_hand(if index < 4 { StripFeed::CabBus } else { StripFeed::OwnSupply }, "this feed"),
        })
        .collect();
    let chains = vec![Chain { number: 1, cab: by_hand(5, "this cab"), strips: (0..strips.len()).collect() }];
    let parts = vec![PartNeed { what: "eight output decoder".into(), count: by_hand(2, "two of them") }];
    Plan { network, levers, addresses, decoders, strips, chains, parts, routes }
}

fn network_of_spurs(layout: &str, count: usize, name: impl Fn(usize) -> String) -> Network {
    let mut network = Network {
        described: Description {
            layout: LayoutFacts {
                name: layout.into(),
                scale: Some("1:87".into()),
                units: Units::Imperial,
                ..LayoutFacts::default()
            },
            ..Description::default()
        },
        ..Network::default()
    };
    for index in 0..count {
        let main = |index: usize| TrackId::at(index);
        let spur = TrackId::at(count + 1 + index);
        let machine = MachineId::at(index);
        let movement = |other, position, shape| Move { ports: [0, other], needs: vec![(machine, position)], shape };
        network.joints.push(Joint {
            id: format!("{}", index + 1),
            name: name(index),
            span: Span::default(),
            kind: JointKind::Turnout { hand: Hand::Left },
            tracks: vec![main(index), main(index + 1), spur],
            moves: vec![
                movement(1, Position::Normal, MoveShape::Straight),
                movement(2, Position::Reverse, MoveShape::Diverging),
            ],
            machines: vec![machine],
            at: Some(format!("bay {}", index / 8 + 1)),
            pins: Pins::default(),
        });
        network.machines.push(Machine {
            name: format!("{}", index + 1),
            joint: JointId::at(index),
            motor: "stall motor".into(),
            lever: LeverId::at(index),
        });
        network.levers.push(Lever {
            id: format!("{}", index + 1),
            name: name(index),
            span: Span::default(),
            machines: vec![machine],
            pins: Pins::default(),
        });
    }
    let port = |joint: usize, port: u8| Port { joint: JointId::at(joint), port };
    let mut end = count;
    let mut end_joint = |network: &mut Network, name: &str, track: TrackId| {
        network.joints.push(Joint {
            id: name.into(),
            name: name.into(),
            span: Span::default(),
            kind: JointKind::End { is: EndKind::Bumper, side: None },
            tracks: vec![track],
            moves: Vec::new(),
            machines: Vec::new(),
            at: None,
            pins: Pins::default(),
        });
        end += 1;
        port(end - 1, 0)
    };
    for index in 0..=count {
        let west = if index == 0 { end_joint(&mut network, "west", TrackId::at(0)) } else { port(index - 1, 1) };
        let east =
            if index == count { end_joint(&mut network, "east", TrackId::at(count)) } else { port(index, 0) };
        network.tracks.push(Track {
            name: format!("main {}", index + 1),
            span: Span::default(),
            ends: [west, east],
            stop: index == 0 || index == count,
            length: Some(Length::from_mm(914.4)),
        });
    }
    for index in 0..count {
        let bumper = end_joint(&mut network, &format!("bumper {}", index + 1), TrackId::at(count + 1 + index));
        network.tracks.push(Track {
            name: format!("spur {}", index + 1),
            span: Span::default(),
            ends: [port(index, 2), bumper],
            stop: true,
            length: None,
        });
    }
    network.lines.push(Line {
        name: "main".into(),
        span: Span::default(),
        tracks: (0..=count).map(TrackId::at).collect(),
        passes: (0..count).map(|j| Pass { joint: JointId::at(j), enter: 0, leave: 1, move_index: 0 }).collect(),
    });
    network
}
