//! A machine list kept as a spreadsheet: the sheet itself, packed as the kind that the first byte
//! tells.
#![no_main]

use std::cell::LazyCell;
use std::io::{Cursor, Write};

use libfuzzer_sys::fuzz_target;
use tapoff_fuzz::Workshop;
use zip::write::{SimpleFileOptions, ZipWriter};

const BOOK: &str = r#"<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"
 xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets>
 <sheet name="machines" sheetId="1" r:id="rId1"/></sheets></workbook>"#;
const ROOT: &str = r#"<Relationships
 xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1"
 Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument"
 Target="xl/workbook.xml"/></Relationships>"#;
const MANIFEST: &str = r#"<manifest:manifest
 xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"/>"#;
const BOOK_PARTS: &str = r#"<Relationships
 xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1"
 Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet"
 Target="worksheets/sheet1.xml"/></Relationships>"#;

thread_local! {
    static WORKSHOP: LazyCell<Workshop> = LazyCell::new(|| {
        let workshop = Workshop::new();
        workshop.remove("machines.csv");
        workshop
    });
}

fuzz_target!(|data: &[u8]| {
    let Some((which, sheet)) = data.split_first() else {
        return;
    };
    WORKSHOP.with(|workshop| {
        let (name, other, parts) = if which.is_multiple_of(2) {
            let parts = vec![
                (
                    "mimetype",
                    &b"application/vnd.oasis.opendocument.spreadsheet"[..],
                ),
                ("META-INF/manifest.xml", MANIFEST.as_bytes()),
                ("content.xml", sheet),
            ];
            ("machines.ods", "machines.xlsx", parts)
        } else {
            let parts = vec![
                ("_rels/.rels", ROOT.as_bytes()),
                ("xl/workbook.xml", BOOK.as_bytes()),
                ("xl/_rels/workbook.xml.rels", BOOK_PARTS.as_bytes()),
                ("xl/worksheets/sheet1.xml", sheet),
            ];
            ("machines.xlsx", "machines.ods", parts)
        };
        workshop.remove(other);
        workshop.put(name, packed(&parts));
        workshop.read();
    });
});

fn packed(parts: &[(&str, &[u8])]) -> Vec<u8> {
    let mut packer = ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    for (name, content) in parts {
        packer
            .start_file(*name, options)
            .expect("memory can be written");
        packer.write_all(content).expect("memory can be written");
    }
    packer.finish().expect("memory can be written").into_inner()
}
