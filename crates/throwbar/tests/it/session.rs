//! What a user sees, word for word.

use crate::{Folder, run};
use expect_test::expect;

#[test]
fn mistakes_are_drawn_under_the_text() {
    let folder = Folder::new("session");
    folder.write(
        "layout.toml",
        "[layout]\nname = \"Pier\"\n\n[turnout.1]\npoints = \"west\"\nthrough = \"main\"\ndiverging = \"pier 1\"\nhand = \"lft\"\n\n[end.west]\ntrack = \"west\"\n[end.main]\ntrack = \"main\"\n",
    );
    let ran = run(folder.path(), &["check", "layout.toml"]);
    assert_eq!(ran.status, 1);
    expect![[r#"
        warning[lever-no-control]: no panel has a control for any lever
         --> layout.toml:4:10
          |
        4 | [turnout.1]
          |          ^
          |
          = help: describe a strip:
                  [panel.west]
                  kind = "strip"

        error[track-one-end]: `pier 1` has one end named, by the diverging leg of `1`; a track has two
         --> layout.toml:7:13
          |
        7 | diverging = "pier 1"
          |             ^^^^^^^^
          |
          = help: name what is at its other end, such as
                  [end."pier 1"]
                  track = "pier 1"

        error[choice-unknown]: `hand` cannot be `lft`
         --> layout.toml:8:8
          |
        8 | hand = "lft"
          |        ^^^^^
          |
          = help: did you mean "left"?

        2 errors, 1 warning
    "#]]
    .assert_eq(&ran.out);
}
