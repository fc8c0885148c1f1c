//! Poppler's programs, and what they say about a file.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::atomic::{AtomicUsize, Ordering};

/// A PDF in a file of its own, gone when the test is.
pub(crate) struct Paper(PathBuf);

impl Paper {
    pub(crate) fn of(pdf: &[u8]) -> Self {
        static COUNT: AtomicUsize = AtomicUsize::new(0);
        let count = COUNT.fetch_add(1, Ordering::Relaxed);
        let path = PathBuf::from(env!("CARGO_TARGET_TMPDIR"))
            .join(format!("binder-{}-{count}.pdf", std::process::id()));
        std::fs::write(&path, pdf).unwrap();
        Self(path)
    }

    /// The words of every page, each page's rows as they stand on the paper.
    pub(crate) fn pages(&self) -> Vec<String> {
        let text = self.run("pdftotext", &["-layout"], true);
        let text = String::from_utf8(text).unwrap();
        let mut pages: Vec<String> = text.split('\u{c}').map(str::to_owned).collect();
        pages.pop();
        pages
    }

    /// The words of these pages as they follow one another in the file: a cell of a table is not torn apart by its
    /// neighbours.
    pub(crate) fn told(&self, pages: std::ops::Range<usize>) -> Vec<String> {
        let (first, last) = ((pages.start + 1).to_string(), pages.end.to_string());
        let text = self.run("pdftotext", &["-raw", "-f", &first, "-l", &last], true);
        String::from_utf8(text).unwrap().split_whitespace().map(str::to_owned).collect()
    }

    /// The words within a rectangle of one page, counted from 1: left, top, width and height in points.
    pub(crate) fn told_within(&self, page: usize, [left, top, width, height]: [u32; 4]) -> String {
        let page = page.to_string();
        let [left, top, width, height] = [left, top, width, height].map(|size| size.to_string());
        let area = ["-x", &left, "-y", &top, "-W", &width, "-H", &height];
        let words = [&["-raw", "-f", &page, "-l", &page][..], &area].concat();
        let text = String::from_utf8(self.run("pdftotext", &words, true)).unwrap();
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// What `pdfinfo` says after this word and a colon.
    pub(crate) fn fact(&self, about: &str) -> String {
        let facts = String::from_utf8(self.run("pdfinfo", &[], false)).unwrap();
        let row = facts.lines().find_map(|row| row.strip_prefix(about)?.strip_prefix(':'));
        row.unwrap_or_else(|| panic!("pdfinfo says nothing about {about}: {facts}")).trim().to_owned()
    }

    /// The fonts in the file, by their own names.
    pub(crate) fn fonts(&self) -> String {
        String::from_utf8_lossy(&self.run("pdffonts", &[], false)).into_owned()
    }

    /// The structure that a screen reader walks.
    pub(crate) fn structure(&self) -> String {
        String::from_utf8_lossy(&self.run("pdfinfo", &["-struct"], false)).into_owned()
    }

    /// What qpdf, a third reader, has to say against the file; nothing where it is sound. A file that is not sound ends it with
    /// an error, and the test with it.
    pub(crate) fn checked(&self) -> String {
        let said = self.run("qpdf", &["--check"], false);
        let said = String::from_utf8_lossy(&said).into_owned();
        let well =
            ["checking ", "PDF Version", "File is not", "No syntax or stream", "errors that qpdf cannot"];
        said.lines().filter(|row| !well.iter().any(|start| row.starts_with(start))).collect()
    }

    /// One page in grey at so many dots to the inch.
    pub(crate) fn picture(&self, page: usize, dots: u32) -> Picture {
        let (page, dots) = (page.to_string(), dots.to_string());
        Picture::read(&self.run("pdftoppm", &["-gray", "-r", &dots, "-f", &page, "-l", &page], false))
    }

    /// What an independent validator has to say against the file as one of PDF/UA-1.
    pub(crate) fn not_accessible(&self) -> Vec<String> {
        let tools = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/accessible");
        let python = tools.join(".venv/bin/python");
        let ran =
            Command::new(&python).arg(tools.join("check.py")).arg(&self.0).output().unwrap_or_else(|error| {
                panic!("{}: {error}; `cargo xtask setup` installs it", python.display())
            });
        assert!(ran.status.success(), "{}", String::from_utf8_lossy(&ran.stderr));
        let told: serde_json::Value = serde_json::from_slice(&ran.stdout).unwrap();
        assert!(told[0]["rules"].as_u64().unwrap() >= 100, "{told}");
        serde_json::from_value(told[0]["failed"].clone()).unwrap()
    }

    fn run(&self, program: &str, words: &[&str], to_standard_output: bool) -> Vec<u8> {
        let mut command = Command::new(program);
        command.args(words).arg(&self.0);
        if to_standard_output {
            command.arg("-");
        }
        let ran = command.output().unwrap_or_else(|error| {
            panic!("{program} could not be run ({error}): install it, for example `apt-get install poppler-utils qpdf`")
        });
        assert!(ran.status.success(), "{program} failed: {}", String::from_utf8_lossy(&ran.stderr));
        ran.stdout
    }
}

impl Drop for Paper {
    fn drop(&mut self) {
        // A file that stays behind in the target folder does no harm.
        let _ = std::fs::remove_file(&self.0);
    }
}

/// A page as grey dots.
pub(crate) struct Picture {
    pub(crate) width: usize,
    dots: Vec<u8>,
}

impl Picture {
    /// # Source
    /// The PGM format (netpbm): `P5`, width, height, highest value, one white-space byte, then a byte for each dot.
    fn read(pgm: &[u8]) -> Self {
        let mut at = 0;
        let mut word = || {
            let rest = &pgm[at..];
            let length = rest.iter().position(u8::is_ascii_whitespace).unwrap();
            at += length + 1;
            String::from_utf8(rest[..length].to_vec()).unwrap()
        };
        assert_eq!(word(), "P5");
        let width: usize = word().parse().unwrap();
        let height: usize = word().parse().unwrap();
        assert_eq!(word(), "255");
        let dots = pgm[at..].to_vec();
        assert_eq!(dots.len(), width * height);
        Self { width, dots }
    }

    /// The rows of dots from top to bottom.
    pub(crate) fn rows(&self) -> impl Iterator<Item = &[u8]> {
        self.dots.chunks(self.width)
    }
}
