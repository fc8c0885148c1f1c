//! `throwbar completions` and `throwbar manual`, both from the one definition of the command line.

use crate::Ended;
use crate::arguments::Arguments;
use crate::failure::Failure;
use crate::print;
use clap::CommandFactory;

pub(crate) fn completions(shell: clap_complete::Shell) -> Result<Ended, Failure> {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut Arguments::command(), "throwbar", &mut script);
    print::answer(&String::from_utf8_lossy(&script))?;
    Ok(Ended::Well)
}

pub(crate) fn manual() -> Result<Ended, Failure> {
    let mut page = Vec::new();
    clap_mangen::Man::new(Arguments::command())
        .render(&mut page)
        .map_err(|source| Failure::Print { source })?;
    print::answer(&String::from_utf8_lossy(&page))?;
    Ok(Ended::Well)
}
