//! A page on which to listen to the clips, for any browser, without resources from elsewhere.

use jumpseat_entries::Contact;
use jumpseat_formats::escape_xml;
use jumpseat_values::display::length;
use jumpseat_values::display::{megahertz, nearest_second};

/// One clip.
pub(super) struct ClipRow {
    /// Its file beside the page; letters, digits, "." and "-".
    pub(super) file: String,
    cells: [String; 6],
}

impl ClipRow {
    /// The clip of a contact.
    pub(super) fn new(file: String, contact: &Contact, seconds: f64) -> Self {
        let text = |value: &Option<String>| value.clone().unwrap_or_default();
        let report = |value: &Option<String>| value.clone().unwrap_or_else(|| "-".to_owned());
        let on = contact.on.map(nearest_second);
        let dial = [
            contact.hz.map(megahertz),
            contact.submode.clone().or_else(|| contact.mode.clone()),
        ];
        Self {
            file,
            cells: [
                on.map(|on| on.format("%Y-%m-%d %H:%M:%S").to_string())
                    .unwrap_or_default(),
                contact.call.clone(),
                dial.into_iter().flatten().collect::<Vec<_>>().join(" "),
                format!("{}/{}", report(&contact.sent), report(&contact.received)),
                text(&contact.name),
                length(seconds),
            ],
        }
    }
}

/// The page.
pub(super) fn page(lines: &[ClipRow]) -> String {
    let mut rows = String::new();
    for line in lines {
        rows.push_str("<tr>");
        for cell in &line.cells {
            rows.push_str(&format!("<td>{}</td>", escape_xml(cell)));
        }
        let file = escape_xml(&line.file);
        rows.push_str(&format!(
            "<td><audio controls preload=\"none\" src=\"{file}\"></audio> \
             <a href=\"{file}\">file</a></td></tr>\n"
        ));
    }
    format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>Contacts to listen to</title>\n<style>\n\
         body {{ font-family: sans-serif; margin: 2em; }}\n\
         td, th {{ padding: 0.3em 0.8em; text-align: left; }}\n</style>\n</head>\n<body>\n\
         <h1>Contacts to listen to</h1>\n<table>\n<tr><th>UTC</th><th>Call</th><th>MHz</th>\
         <th>Sent/received</th><th>Name</th><th>Length</th><th>Sound</th></tr>\n{rows}</table>\n\
         </body>\n</html>\n"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_said_cannot_become_markup() {
        let contact = Contact {
            call: "KB0QSE".into(),
            name: Some("<script>alert(1)</script> \"&".into()),
            ..Contact::default()
        };
        let page = page(&[ClipRow::new("a.wav".into(), &contact, 61.0)]);
        assert!(!page.contains("<script"));
        assert!(page.contains("&lt;script&gt;"), "{page}");
        assert!(page.contains("<td>1:01</td>") && page.contains("src=\"a.wav\""));
    }
}
