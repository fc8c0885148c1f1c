//! Commands on the rails beside a plan, each placed by hand.
//!
//! # Source
//! Ways of counting: NMRA S-9.2.1 (July 2012), section D, and LCC TN-9.7.0.4 (July 2024), section 2.5.3.3; the four that blocks of 256
//! lay elsewhere, worked out by hand: 253 counted in blocks is the bits 0, which are 2045 counted linear.

use packet::{
    Basic, BinaryAddress, Decoded, Extended, NormalIs, Packet, Position, Scheme, Seen, UserAddress,
};
use plan::traffic::{Conflict, Traffic};
use testkit::plan_of;

/// A row of turnouts at these addresses, in a system that counts like this.
fn traffic(addresses: &[u16], scheme: Scheme) -> Traffic {
    let mut text = format!(
        "[layout]\nname = \"Tern Harbor\"\n[system]\nlast_address = 2048\naddress_scheme = \"{}\"\ntaken = [\"100-120\"]\n\
         [end.t0]\ntrack = \"t0\"\n[part.\"eight output decoder\"]\noutputs = 1\naligned = 1\n",
        scheme.word()
    );
    for (index, address) in addresses.iter().enumerate() {
        let next = index + 1;
        text.push_str(&format!(
            "[turnout.{next}]\npoints = \"t{index}\"\nthrough = \"t{next}\"\ndiverging = \"s{next}\"\nhand = \"left\"\n\
             address = {address}\n[end.s{next}]\ntrack = \"s{next}\"\n"
        ));
    }
    text.push_str(&format!("[end.last]\ntrack = \"t{}\"\n", addresses.len()));
    let plan = plan_of(&text);
    assert_eq!((plan.scheme(), plan.normal_is()), (scheme, NormalIs::One));
    Traffic::new(&plan, plan.scheme(), plan.normal_is())
}

fn throw(address: u16, scheme: Scheme, position: Position) -> Packet {
    Packet::Basic(Basic::throw(UserAddress::new(address).unwrap().binary(scheme), position, NormalIs::One))
}

/// What is told of packets, each at a moment in milliseconds.
fn told(traffic: &mut Traffic, packets: &[(u64, Packet)]) -> Vec<(u64, Conflict)> {
    let mut found = Vec::new();
    for &(at, packet) in packets {
        let decoded = Decoded::new(packet.encode(), Seen::Main);
        traffic.hear(at * 1_000_000, &decoded, &mut |conflict| found.push((at, conflict)));
    }
    found.extend(traffic.finish().map(|(at, conflict)| (at / 1_000_000, conflict)));
    found
}

use Position::{Normal, Reverse};
use Scheme::{BlocksOf256, Linear, ZeroBased};

#[test]
fn what_nothing_answers_is_told_once_and_what_is_taken_by_its_stretch() {
    let mut traffic = traffic(&[1, 5], Linear);
    let packets = [
        (0, throw(1, Linear, Normal)),
        (10, throw(9, Linear, Normal)),
        (20, throw(9, Linear, Normal)),
        (30, throw(100, Linear, Normal)),
        (40, throw(120, Linear, Normal)),
        (50, throw(121, Linear, Normal)),
        (60, throw(5, Linear, Normal)),
    ];
    assert_eq!(
        told(&mut traffic, &packets),
        [
            (10, Conflict::Unanswered { address: 9 }),
            (30, Conflict::Taken { address: 100, first: 100, last: 120 }),
            (40, Conflict::Taken { address: 120, first: 100, last: 120 }),
            (50, Conflict::Unanswered { address: 121 }),
        ]
    );
}

/// Repeats of one command are no turn; a second on the other side is; back again within a second is a fight. A second later it is not.
#[test]
fn an_address_that_two_places_command_goes_to_and_fro() {
    let at = |at, position| (at, throw(5, Linear, position));
    for (packets, expected) in [
        (vec![at(0, Normal), at(30, Normal), at(60, Normal)], vec![]),
        (vec![at(0, Normal), at(1_001, Reverse), at(2_002, Normal)], vec![]),
        (
            vec![at(0, Normal), at(30, Normal), at(1_030, Reverse)],
            vec![(1_030, Conflict::Turned { address: 5, to: Reverse, after: 1_000_000_000 })],
        ),
        (
            vec![at(0, Normal), at(300, Reverse), at(600, Normal), at(900, Reverse), at(1_200, Normal)],
            vec![
                (300, Conflict::Turned { address: 5, to: Reverse, after: 300_000_000 }),
                (600, Conflict::Fought { address: 5, within: 300_000_000 }),
            ],
        ),
        // Two turns that are far apart are two turns, told once.
        (
            vec![at(0, Normal), at(300, Reverse), at(9_000, Reverse), at(9_300, Normal)],
            vec![(300, Conflict::Turned { address: 5, to: Reverse, after: 300_000_000 })],
        ),
        // Another address beside it is another matter.
        (vec![at(0, Normal), (300, throw(1, Linear, Reverse))], vec![]),
    ] {
        assert_eq!(told(&mut traffic(&[1, 5], Linear), &packets), expected, "{packets:?}");
    }
    // Switching the other output off, as some stations do behind each throw, throws nothing.
    let Packet::Basic(basic) = throw(5, Linear, Reverse) else { unreachable!() };
    let off = Packet::Basic(Basic { active: false, ..basic });
    assert_eq!(told(&mut traffic(&[5], Linear), &[at(0, Normal), (50, off), at(100, Normal)]), []);
}

#[test]
fn a_broadcast_is_heard_by_all_and_told_once_of_each_kind() {
    let all = BinaryAddress::new(2044).unwrap();
    let throw_all = Packet::Basic(Basic::throw(all, Normal, NormalIs::One));
    let aspect = |aspect| {
        Packet::Extended(Extended { address: BinaryAddress::new(BinaryAddress::MAX).unwrap(), aspect })
    };
    let packets = [
        (0, Packet::BasicStop),
        (10, Packet::ExtendedStop),
        (20, throw_all),
        (30, throw_all),
        (40, aspect(7)),
        (50, aspect(0)),
    ];
    assert_eq!(
        told(&mut traffic(&[1, 5, 9], Linear), &packets),
        [
            (0, Conflict::Broadcast { stops: true, addresses: 3 }),
            (20, Conflict::Broadcast { stops: false, addresses: 3 }),
        ]
    );
}

/// Four off in both directions, and the last four of a block, each beside addresses that fit either way.
#[test]
fn the_way_of_counting_that_fits_is_found() {
    for (planned, own, other, sample) in [
        (&[1, 2, 5, 9][..], Linear, ZeroBased, (2045, 1)),
        (&[1, 2, 5, 9], ZeroBased, Linear, (6, 2)),
        (&[1, 253, 300], Linear, BlocksOf256, (2045, 253)),
        (&[1, 256, 300], BlocksOf256, Linear, (512, 256)),
        (&[1, 2, 5], BlocksOf256, ZeroBased, (253, 1)),
    ] {
        let packets: Vec<(u64, Packet)> =
            (0..).zip(planned).map(|(at, &address)| (at * 2_000, throw(address, other, Normal))).collect();
        let mut traffic = traffic(planned, own);
        let found = told(&mut traffic, &packets);
        let Some((_, Conflict::OtherScheme { other: found, other_fits, commanded, sample: shown, .. })) =
            found.last()
        else {
            panic!("{own:?} {other:?}: {found:?}")
        };
        assert_eq!((*found, *other_fits, *commanded), (other, planned.len(), planned.len()), "{own:?}");
        assert_eq!(*shown, sample, "{own:?} {other:?}");
    }
}

#[test]
fn no_way_of_counting_is_named_where_the_own_fits_as_well() {
    // 9 is nobody's either way, and 1 and 5 are each other's four off.
    let packets = [(0, throw(5, Linear, Normal)), (2_000, throw(60, Linear, Normal))];
    let found = told(&mut traffic(&[1, 5, 9], Linear), &packets);
    assert_eq!(found, [(2_000, Conflict::Unanswered { address: 60 })]);
}
