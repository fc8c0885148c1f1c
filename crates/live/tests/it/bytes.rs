//! Links of bytes in the user's own wording: what is sent, and what a row says.

use description::template::Template;
use live::link::bytes::{At, Counting, ROW_MAX, RowReader, fill, hear};
use network::Position;
use packet::{NormalIs, Scheme, UserAddress};
use proptest::prelude::*;

const LINEAR: Counting = Counting { scheme: Scheme::Linear, normal_is: NormalIs::One };

fn at(address: u16, position: Position) -> At {
    At { address: UserAddress::new(address).unwrap(), position }
}

fn sent(template: &str, at: At, counting: Counting) -> String {
    String::from_utf8(fill(&Template::sent(template).unwrap(), at, counting)).unwrap()
}

/// Board and output by hand from NMRA S-9.2.1, section D: user 5 is board 2, output 1, counted linearly; board 1, output 1, counted from zero. The packet
/// of user 1 thrown to normal is `81 F9 78` (LCC TN-9.7.0.4, section 2.5.3.3).
#[test]
fn fields_are_filled_in() {
    let zero = Counting { scheme: Scheme::ZeroBased, ..LINEAR };
    let turned = Counting { normal_is: NormalIs::Zero, ..LINEAR };
    let cases = [
        ("address {address} bit {bit}\n", at(5, Position::Normal), LINEAR, "address 5 bit 1\n"),
        ("address {address 4} {position}", at(5, Position::Reverse), LINEAR, "address 0005 reverse"),
        ("{board}/{pair}/{bit}", at(5, Position::Reverse), LINEAR, "2/1/0"),
        ("{board}/{pair}/{bit}", at(5, Position::Reverse), zero, "1/1/0"),
        ("{board}/{pair}/{bit}", at(5, Position::Reverse), turned, "2/1/1"),
        ("{{{packet}}}", at(1, Position::Normal), LINEAR, "{81 F9 78}"),
    ];
    for (template, at, counting, expected) in cases {
        assert_eq!(sent(template, at, counting), expected, "{template}");
    }
    let raw = fill(&Template::sent("{packet raw}").unwrap(), at(1, Position::Normal), LINEAR);
    assert_eq!(raw, [0x81, 0xF9, 0x78]);
}

#[test]
fn rows_that_fit_are_heard_and_others_are_left_out() {
    let template = Template::heard("{any}turnout {address} at {bit}").unwrap();
    let mut rows = RowReader::default();
    let text = b"hello\r\nno turnout 7 at 1\r\nturnout 8 at 2\nturnout 9999 at 1\nturn";
    assert_eq!(rows.read(text, &template, LINEAR), [at(7, Position::Normal)]);
    assert_eq!(
        rows.read(b"out 5 at 0\n", &template, LINEAR),
        [at(5, Position::Reverse)],
        "a row in two parts"
    );
    let long = vec![b'x'; ROW_MAX + 1];
    assert_eq!(rows.read(&long, &template, LINEAR), []);
    assert_eq!(rows.read(b"turnout 5 at 0\nturnout 6 at 0\n", &template, LINEAR), [at(6, Position::Reverse)]);
}

#[test]
fn what_a_wording_lacks_is_said() {
    let fault = |text: &str| Template::sent(text).unwrap_err().fault.to_string();
    assert_eq!(fault("bit {bit}"), "it does not say which address is meant");
    assert_eq!(fault("{board} {bit}"), "it does not say which address is meant");
    assert_eq!(fault("{address}"), "it does not say which position is meant");
    assert_eq!(fault("{address 0} {bit}"), "`0` is no number of digits");
    assert_eq!(fault("{position 2} {address}"), "`2` is no number of digits");
    assert_eq!(fault("{address} {bit"), "a brace stands alone");
    assert_eq!(fault("{any}{address}{bit}"), "`{any}` has no place here");
    assert_eq!(Template::heard("{packet}").unwrap_err().fault.to_string(), "`{packet}` has no place here");
}

proptest! {
    /// What is sent with the same wording is heard again, whatever the scheme and the bit.
    #[test]
    fn there_and_back(
        address in 1_u16..=2_048,
        reverse: bool,
        scheme in prop_oneof![Just(Scheme::Linear), Just(Scheme::ZeroBased), Just(Scheme::BlocksOf256)],
        turned: bool,
        wording in prop_oneof![
            Just("a{address}b{bit}"), Just("{board} {pair} {position}"), Just("{address 4}{bit}"), Just("{position}{board 3}{pair}"),
        ],
    ) {
        let counting = Counting { scheme, normal_is: if turned { NormalIs::Zero } else { NormalIs::One } };
        let at = at(address, if reverse { Position::Reverse } else { Position::Normal });
        let row = sent(wording, at, counting);
        prop_assert_eq!(hear(&Template::heard(wording).unwrap(), row.as_bytes(), counting), Some(at));
    }

    #[test]
    fn any_bytes_and_any_wording_end(row in prop::collection::vec(any::<u8>(), 0..200), wording in ".{0,60}") {
        if let Ok(template) = Template::heard(&wording) {
            hear(&template, &row, LINEAR);
        }
        let template = Template::heard("{any}{any}{any}{any}{address}{any}{any}{bit}").unwrap();
        hear(&template, &row, LINEAR);
    }
}
