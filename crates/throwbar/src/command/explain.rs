//! `throwbar explain`: the page of a diagnostic code, or the keys of a table of the description.

use crate::Ended;
use crate::failure::Failure;
use crate::print::{self, Style};
use description::keys::{TABLES, TableKeys, reference};
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
    if let Some(table) = TableKeys::find(name) {
        let page = reference(Some(table));
        if style.json {
            let page = serde_json::json!({ "schema": answers::SCHEMA, "table": table.name, "page": page });
            print::json(&page)?;
        } else {
            print::answer(&page)?;
        }
        return Ok(Ended::Well);
    }
    let code = Code::find(name).ok_or_else(|| Failure::CodeUnknown {
        code: name.to_owned(),
        hint: nearest(name, Code::all().map(Code::name).chain(TABLES.iter().map(|table| table.name)))
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
