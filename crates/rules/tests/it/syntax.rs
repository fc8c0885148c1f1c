//! Rows that are not written as a layout file is: each slip is said once, in a builder's words, where it began.

use testkit::check;

/// Puts `[layout]` above a fixture and checks it.
fn check_below_layout(rows: &str) {
    check(&format!("  [layout]\n  name = \"Tern Harbor Terminal\"\n{rows}"));
}

#[test]
fn quotation_marks_that_are_missing_curved_or_left_open() {
    check_below_layout(
        r#"
  [end.gate]
  track = wharf # the long one
#         ^^^^^ error[text-syntax]: `wharf` is text without quotation marks
# | write "wharf"
  [end.pier]
  track = “wharf”
#         ^^^^^^^ error[text-syntax]: “wharf” stands in curved quotation marks
# | write "wharf", with straight ones
  [end.cannery]
  track = "shore
#         ^^^^^^ error[text-syntax]: this text has no closing quotation mark
# | write `"` at both ends of the text
  [end.ice]
  track = """shore
#         ^^^ error[text-syntax]: the text that opens here is not closed
# | write the text on one row, with `"` at both ends
"#,
    );
}

#[test]
fn headings_that_are_not_closed_or_need_quotation_marks() {
    check_below_layout(
        r#"
  [end.gate
#         ^ error[text-syntax]: the heading is not closed
# | write `]` at the end of the heading
  track = "wharf"
  [end.yard 4]
#      ^^^^^^ error[text-syntax]: the id `yard 4` needs quotation marks because of its space
# | write [end."yard 4"]
  track = "yard"
  [end.gate] yard
#            ^ error[text-syntax]: something stands after the end of the heading
# | write one `[table.name]` or one `key = value` a row
  []
#  ^ error[text-syntax]: a name is missing here
# | write [table.name] or key = value
"#,
    );
}

#[test]
fn keys_that_cannot_be_read() {
    check_below_layout(
        r#"
  longest train = "6 ft"
# ^^^^^^^^^^^^^ error[text-syntax]: `longest train` is a key of 2 words
# | write it as one word, such as longest_train
  scale: "HO"
#      ^ error[text-syntax]: `:` stands where `=` belongs
# | write `key = value`
  units
#     ^ error[text-syntax]: a key stands here without a value
# | write `key = value`
  revision =
#          ^ error[text-syntax]: no value is written after `=`
# | write a value, or delete the row
  date == "2026"
#       ^ error[text-syntax]: `=` stands here twice
# | write `key = value`
"#,
    );
}

#[test]
fn an_open_list_is_one_mistake_at_its_bracket() {
    check_below_layout(
        r#"
  [end.gate]
  track = "wharf"
  [end.pier]
  track = "wharf"
  [line.wharf]
  from = "gate"
  to = "pier"
  via = ["wharf",
#       ^ error[text-syntax]: the list that opens here is not closed
# | write `]` where it should end
  [panel.harbor]
  kind = "strip"
  controls = ["wharf"]
"#,
    );
}

#[test]
fn open_braces_are_one_mistake_at_the_inner_one() {
    check_below_layout(
        r#"
  [bench]
  runs = [
    { from = "bay 1", to = "bay 2", length = "4 ft" },
    { from = "bay 2", to = "bay 3", length = "4 ft",
#   ^ error[text-syntax]: the braces that open here are not closed
# | write `}` where it should end
    { from = "bay 3", to = "bay 4", length = "4 ft" },
  ]
"#,
    );
}

#[test]
fn commas_that_are_missing_or_too_many() {
    check_below_layout(
        r#"
  [bench]
  runs = [
    { from = "bay 1" to = "bay 2", length = "4 ft" },
#                    ^ error[text-syntax]: a comma or a quotation mark is missing before this
# | write `"` at both ends of each text, and a comma between two
    { from = "bay 2", to = "bay 3", length = "4 ft" },,
#                                                     ^ error[text-syntax]: a comma stands here with nothing before it
# | delete it, or write what is missing
  ]
  [end.gate]
  track = "wharf" "pier"
#                 ^ error[text-syntax]: something stands after the end of the value
"#,
    );
}

#[test]
fn numbers_that_cannot_be_read() {
    check_below_layout(
        r#"
  [numbering]
  first = 007
#         ^ error[text-syntax]: this number cannot be read
  spare_per_line = 3ft
#                  ^^^ error[text-syntax]: `3ft` is text without quotation marks
# | write "3ft"
  [system]
  taken = 9:12
#         ^^^^ error[text-syntax]: `9:12` is text without quotation marks
# | write "9:12"
"#,
    );
}

#[test]
fn a_slip_of_spelling_does_not_hide_other_mistakes() {
    check_below_layout(
        r#"
  [end.gate]
  track = wharf
#         ^^^^^ error[text-syntax]: `wharf` is text without quotation marks
  is = "buffer"
#      ^^^^^^^^ error[choice-unknown]: `is` cannot be `buffer`
  [system]
  taken = ["9-3"]
#          ^^^^^ error[range-unreadable]: `9-3` is not a range of addresses
"#,
    );
}
