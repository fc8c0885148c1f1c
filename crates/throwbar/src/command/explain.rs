//! `throwbar explain`: the page of a diagnostic code.

use crate::Ended;
use crate::failure::Failure;
use crate::print::{self, Style};
use notice::{Code, nearest};

pub(crate) fn run(style: Style, name: Option<&str>) -> Result<Ended, Failure> {
    let Some(name) = name else {
        let names: Vec<&str> = Code::all().map(Code::name).collect();
        if style.json {
            print::json(&serde_json::json!({ "schema": answers::SCHEMA, "codes": names }))?;
        } else {
            print::answer(&(names.join("\n") + "\n"))?;
        }
        return Ok(Ended::Well);
    };
    let code = Code::find(name).ok_or_else(|| Failure::CodeUnknown {
        code: name.to_owned(),
        hint: nearest(name, Code::all().map(Code::name))
            .map(|near| format!("; did you mean `{near}`?"))
            .unwrap_or_default(),
    })?;
    if style.json {
        let page = serde_json::json!({ "schema": answers::SCHEMA, "code": code.name(), "page": code.page() });
        print::json(&page)?;
    } else {
        print::answer(code.page())?;
    }
    Ok(Ended::Well)
}
