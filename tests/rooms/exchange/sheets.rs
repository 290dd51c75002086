//! Workbooks that libraries of others wrote (`tests/reference/exchange/make_sheets.py`), and damaged ones.

use std::io::{Cursor, Read as _, Write as _};
use std::path::Path;

use super::common::{book, find_of, records, try_take};
use proptest::prelude::*;
use scourline::Progress;
use scourline::book::RecordKind;
use scourline::exchange::{Format, Intake, Options, Source, look_all};

fn workbook(name: &str) -> Vec<u8> {
    std::fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/exchange/sheets").join(name)).unwrap()
}

fn took(name: &str, bytes: &[u8]) -> Intake {
    try_take(name, bytes, &book(), &Options::default()).unwrap()
}

/// The values that XlsxWriter and odfpy were handed.
#[test]
fn a_workbook_gives_each_sheet_as_a_table_with_its_dates_as_they_are_stored() {
    for name in ["season.xlsx", "season.ods"] {
        let intake = took(name, &workbook(name));
        assert_eq!((intake.format, intake.refused_count), (Format::Spreadsheet, 0), "{name}: {:?}", intake.refused);
        assert_eq!((intake.taken[&RecordKind::Find], intake.taken[&RecordKind::Level]), (3, 2), "{name}");
        let mut finds: Vec<_> = records(&intake).into_iter().filter_map(find_of).collect();
        finds.sort_by(|a, b| b.at.lon_deg().total_cmp(&a.at.lon_deg()));
        let of = |n: usize| (finds[n].what.as_str(), finds[n].at.lon_deg(), finds[n].at.lat_deg(), finds[n].depth_m);
        assert_eq!(of(0), ("invented penny", -20.0001, 45.0001, Some(0.125)), "{name}");
        assert_eq!(of(1), ("ring pull", -20.0002, 45.0002, None), "{name}");
        assert_eq!(of(2), ("lead sinker", -20.0003, 45.0003, Some(0.2)), "{name}");
        // On the beach's clock, an hour ahead in summer and not any more after 27 October.
        let times: Vec<_> = finds.iter().map(|f| f.time.unwrap().to_string()).collect();
        assert_eq!(times, ["2024-04-05T08:45:00Z", "2024-04-05T09:05:30Z", "2024-10-27T14:00:00Z"], "{name}");
        assert_eq!(
            (finds[0].more["Colour"].as_str(), finds[1].more["Colour"].as_str()),
            ("says \"1914\"", "two lines"),
            "{name}"
        );
        let told = format!("{:?}", intake.understood);
        assert!(told.contains("sheet \\\"Finds\\\"") && told.contains("its headings in row 3"), "{name}: {told}");
        let warned = intake.warnings.join("\n");
        assert!(warned.contains("1 row(s) of the sheet \"Finds\" stand above"), "{name}: {warned}");
        assert!(!told.contains("encoding") && intake.unsettled.is_empty(), "{name}: {told}");
        if name.ends_with("xlsx") {
            assert!(warned.contains("\"Read me\" has no headings") && warned.contains("such as #N/A"), "{warned}");
            assert!(warned.contains("first in row 5"), "{warned}");
        }
        let mut book = book();
        book.apply(&intake.edit).unwrap();
        // The same from the other workbook, or from this one again, adds nothing.
        for again in ["season.xlsx", "season.ods"] {
            let again = try_take(again, workbook(again), &book, &Options::default()).unwrap();
            assert_eq!(again.taken.get(&RecordKind::Find), None, "{name}: {:?}", again.taken);
        }
    }
}

/// A workbook of one's own with these sheets, each of rows of texts.
fn ods(sheets: &[(&str, &[&[&str]])]) -> Vec<u8> {
    let mut content = String::from(
        "<office:document-content xmlns:office=\"urn:oasis:names:tc:opendocument:xmlns:office:1.0\" \
         xmlns:table=\"urn:oasis:names:tc:opendocument:xmlns:table:1.0\" xmlns:text=\"urn:oasis:names:tc:opendocument:xmlns:text:1.0\">\
         <office:body><office:spreadsheet>",
    );
    for (name, rows) in sheets {
        content += &format!("<table:table table:name=\"{name}\">");
        for row in *rows {
            content += "<table:table-row>";
            for cell in *row {
                content += &format!("<table:table-cell office:value-type=\"string\"><text:p>{cell}</text:p></table:table-cell>");
            }
            content += "</table:table-row>";
        }
        content += "</table:table>";
    }
    zipped_ods(&(content + "</office:spreadsheet></office:body></office:document-content>"))
}

fn zipped(files: &[(&str, &[u8])]) -> Vec<u8> {
    let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in files {
        zip.start_file(*name, zip::write::SimpleFileOptions::default()).unwrap();
        zip.write_all(bytes).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

fn zipped_ods(content: &str) -> Vec<u8> {
    zipped(&[("mimetype", b"application/vnd.oasis.opendocument.spreadsheet"), ("content.xml", content.as_bytes())])
}

#[test]
fn sheets_build_on_each_other_and_a_refusal_names_its_sheet_and_row() {
    let finds: &[&[&str]] = &[&["lon", "lat", "what"], &["-20", "95", "penny"], &["-20", "45", "penny"]];
    let outings: &[&[&str]] = &[&["start", "end", "setup"], &["2024-05-01 09:00", "2024-05-01 12:00", "wet sand"]];
    let setups: &[&[&str]] = &[&["name", "mode"], &["wet sand", "beach"]];
    let names: &[&[&str]] = &[&["name"], &["somebody invented"]];
    let bytes = ods(&[("Finds", finds), ("Outings", outings), ("Set-ups", setups), ("Friends", names)]);
    let intake = took("year.ods", &bytes);
    assert_eq!([RecordKind::Setup, RecordKind::Outing, RecordKind::Find].map(|k| intake.taken[&k]), [1, 1, 1]);
    assert_eq!(intake.refused[0].to_string().split(": ").next().unwrap(), "year.ods, sheet \"Finds\", line 2, row 1");
    assert!(intake.warnings.iter().any(|w| w.contains("\"Friends\" was passed over")), "{:?}", intake.warnings);
    // Among several files a workbook has its turn by what it holds.
    let outings = Source::bytes("outings.csv", b"start,end,setup\n2024-05-01 09:00,2024-05-01 12:00,wet sand\n".to_vec());
    let all = [outings, Source::bytes("settings.ods", ods(&[("Set-ups", setups)]))];
    let looked = look_all(&all, &book(), &Options::default(), &Progress::new()).unwrap();
    assert_eq!((looked.taken_count(), looked.refused_count()), (2, 0));
}

/// A workbook of Office Open XML by hand, with what follows the cells of its one sheet (ECMA-376 part 1, 18.3).
fn xlsx(rows: &[&[(&str, &str)]], after: &str) -> Vec<u8> {
    let main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";
    let office = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
    let related = "http://schemas.openxmlformats.org/package/2006/relationships";
    let cell = |(at, text): &(&str, &str)| format!("<c r=\"{at}\" t=\"inlineStr\"><is><t>{text}</t></is></c>");
    let row = |(n, cells): (usize, &&[(&str, &str)])| {
        format!("<row r=\"{}\">{}</row>", n + 1, cells.iter().map(cell).collect::<String>())
    };
    let cells: String = rows.iter().enumerate().map(row).collect();
    let sheet = format!("<worksheet xmlns=\"{main}\"><sheetData>{cells}</sheetData>{after}</worksheet>");
    let workbook = format!(
        "<workbook xmlns=\"{main}\" xmlns:r=\"{office}\"><sheets><sheet name=\"Finds\" sheetId=\"1\" r:id=\"rId1\"/></sheets></workbook>"
    );
    let of_the_book = format!(
        "<Relationships xmlns=\"{related}\"><Relationship Id=\"rId1\" Type=\"{office}/worksheet\" Target=\"worksheets/sheet1.xml\"/></Relationships>"
    );
    let of_all = format!(
        "<Relationships xmlns=\"{related}\"><Relationship Id=\"rId1\" Type=\"{office}/officeDocument\" Target=\"xl/workbook.xml\"/></Relationships>"
    );
    zipped(&[
        ("_rels/.rels", of_all.as_bytes()),
        ("xl/workbook.xml", workbook.as_bytes()),
        ("xl/_rels/workbook.xml.rels", of_the_book.as_bytes()),
        ("xl/worksheets/sheet1.xml", sheet.as_bytes()),
    ])
}

/// A day that is merged over the finds of an outing counts for each; what came out of a sheet as blanks is told, not guessed.
#[test]
fn a_merged_day_counts_for_every_find_beside_it() {
    let head = "<office:document-content xmlns:office=\"urn:o\" xmlns:table=\"urn:t\" xmlns:text=\"urn:x\"><office:body>\
         <office:spreadsheet><table:table table:name=\"Finds\">";
    let cell = |text: &str| format!("<table:table-cell office:value-type=\"string\"><text:p>{text}</text:p></table:table-cell>");
    let row = |first: &str, rest: &[&str]| {
        let rest: String = rest.iter().map(|t| cell(t)).collect();
        format!("<table:table-row>{first}{rest}</table:table-row>")
    };
    let merged =
        "<table:table-cell table:number-rows-spanned=\"3\" office:value-type=\"date\" office:date-value=\"2024-05-01\"/>";
    let covered = "<table:covered-table-cell/>";
    let rows = [
        row(&cell("date"), &["what", "lon", "lat"]),
        row(merged, &["ring", "-20.0001", "45"]),
        row(covered, &["key", "-20.0002", "45"]),
        row(covered, &["pin", "-20.0003", "45"]),
    ];
    let open = zipped_ods(&format!(
        "{head}{}</table:table></office:spreadsheet></office:body></office:document-content>",
        rows.concat()
    ));
    let office = xlsx(
        &[
            &[("A1", "date"), ("B1", "what"), ("C1", "lon"), ("D1", "lat")],
            &[("A2", "2024-05-01"), ("B2", "ring"), ("C2", "-20.0001"), ("D2", "45")],
            &[("B3", "key"), ("C3", "-20.0002"), ("D3", "45")],
            &[("B4", "pin"), ("C4", "-20.0003"), ("D4", "45")],
        ],
        "<mergeCells count=\"1\"><mergeCell ref=\"A2:A4\"/></mergeCells>",
    );
    for (name, bytes) in [("merged.ods", open), ("merged.xlsx", office)] {
        let intake = took(name, &bytes);
        let finds: Vec<_> = records(&intake).into_iter().filter_map(find_of).collect();
        // A day alone is noted at noon on the beach's clock.
        let days: Vec<_> = finds.iter().filter_map(|f| f.time).map(|t| t.to_string()).collect();
        assert_eq!(days, ["2024-05-01T11:00:00Z"; 3], "{name}: {intake:?}");
        let warned = intake.warnings.join("\n");
        assert!(warned.contains("2 cell(s) of the sheet \"Finds\" are merged into one above them"), "{name}: {warned}");
    }
    let blanks = "date,what,lon,lat\n2024-05-01,ring,-20.0001,45\n,key,-20.0002,45\n,pin,-20.0003,45\n";
    let intake = took("blanks.csv", blanks.as_bytes());
    let dated = records(&intake).into_iter().filter_map(find_of).filter(|f| f.time.is_some()).count();
    assert_eq!(dated, 1);
    let warned = intake.warnings.join("\n");
    assert!(warned.contains("2 row(s) have nothing under \"date\"") && warned.contains("without a day"), "{warned}");
}

#[test]
fn what_is_wrong_with_a_workbook_is_said() {
    let said = |bytes: &[u8]| try_take("x.xlsx", bytes, &book(), &Options::default()).unwrap_err().to_string();
    assert!(said(&ods(&[])).contains("without anything in it"));
    assert!(said(&ods(&[("Poem", &[&["roses are red"]])])).contains("no sheet (Poem) has a row of headings"));
    assert!(said(&zipped(&[("picture.txt", b"x")])).contains("is a zip archive; unpack it"));
    assert!(said(&zipped(&[("mimetype", b"x"), ("content.xml", b"<a><b></a>")])).contains("is a broken spreadsheet"));
    let cut = |bytes: &[u8]| bytes[..bytes.len() / 2].to_vec();
    assert!(said(&cut(&workbook("season.xlsx"))).contains("cannot be opened"));
}

/// Archives that unpack without end, cells repeated without end, and a lone cell in the farthest corner.
#[test]
fn bombs_stay_small() {
    let zeros = vec![b' '; 40 << 20];
    let many: Vec<(String, &[u8])> = (0..16).map(|n| (format!("xl/pad{n}.xml"), zeros.as_slice())).collect();
    let mut files: Vec<(&str, &[u8])> = many.iter().map(|(n, b)| (n.as_str(), *b)).collect();
    files.push(("xl/workbook.xml", b"<workbook/>"));
    let said =
        |bytes: &[u8]| try_take("x", bytes, &book(), &Options::default()).map(|i| i.taken_count()).map_err(|e| e.to_string());
    assert!(said(&zipped(&files)).unwrap_err().contains("unpacks to more than 512 MB"));
    let row = |attributes: &str, cell: &str| {
        zipped_ods(&format!(
            "<d><table name='x'><table-row><table-cell value-type='string'><p>lon</p></table-cell></table-row>\
             <table-row {attributes}><table-cell {cell} value-type='string'><p>z</p></table-cell></table-row></table></d>"
        ))
    };
    let most = "4294967296";
    let both = row(&format!("number-rows-repeated='{most}'"), &format!("number-columns-repeated='{most}'"));
    assert!(said(&both).unwrap_err().contains("more than 4000000 cells"));
    assert!(said(&zipped_ods(&format!("<d>{}", "<a>".repeat(200_000)))).unwrap_err().contains("more than 128 deep"));
    // Cut off within a table, where a reader may wait for ever.
    assert!(said(&zipped_ods("<d><table name='x'><table-row>")).unwrap_err().contains("end is missing"));
}

/// The inner files of a workbook, so that damage meets the sheets and not only the archive's own sums.
fn inner(name: &str) -> Vec<(String, Vec<u8>)> {
    let mut zip = zip::ZipArchive::new(Cursor::new(workbook(name))).unwrap();
    (0..zip.len())
        .map(|n| {
            let mut file = zip.by_index(n).unwrap();
            let mut bytes = Vec::new();
            file.read_to_end(&mut bytes).unwrap();
            (file.name().unwrap().into_owned(), bytes)
        })
        .collect()
}

fn never_panics(bytes: &[u8]) {
    if let Ok(intake) = try_take("any", bytes, &book(), &Options::default()) {
        book().apply(&intake.edit).expect("an edit that was offered can be applied");
    }
}

proptest! {
    #[test]
    fn any_damage_to_a_workbook_is_read_or_refused(
        xlsx in any::<bool>(), file in 0_usize..100, at in 0_usize..100_000, gone in 0_usize..40, junk in "[<>/&\"'= a-z0-9:;-]{0,6}"
    ) {
        let mut files = inner(if xlsx { "season.xlsx" } else { "season.ods" });
        let count = files.len();
        let bytes = &mut files[file % count].1;
        if !bytes.is_empty() {
            let at = at % bytes.len();
            bytes.splice(at..(at + gone).min(bytes.len()), junk.bytes());
        }
        let files: Vec<(&str, &[u8])> = files.iter().map(|(n, b)| (n.as_str(), b.as_slice())).collect();
        never_panics(&zipped(&files));
    }

    #[test]
    fn any_damage_to_the_archive_is_read_or_refused(xlsx in any::<bool>(), at in 0_usize..100_000, junk in proptest::collection::vec(any::<u8>(), 0..6)) {
        let mut bytes = workbook(if xlsx { "season.xlsx" } else { "season.ods" });
        let at = at % bytes.len();
        bytes.splice(at..(at + 3).min(bytes.len()), junk);
        never_panics(&bytes);
    }
}

/// A row is named by its sheet, as every sheet has a row 3.
#[test]
fn what_is_refused_of_a_workbook_names_its_sheet() {
    let heads: &[&str] = &["lat", "lon", "what", "depth_cm"];
    let bytes = ods(&[
        ("Summer", &[heads, &["45.0001", "-20.0001", "penny"]]),
        ("Winter", &[heads, &["45.0001", "north", "penny"], &["45.0002", "-20.0002", "thing", "deep"]]),
    ]);
    let intake = took("season.ods", &bytes);
    assert_eq!((intake.taken[&RecordKind::Find], intake.refused.len()), (2, 1), "{:?}", intake.refused);
    assert_eq!(intake.refused[0].place(), "sheet \"Winter\", line 2, row 1");
    assert!(intake.refused[0].to_string().starts_with("season.ods, sheet \"Winter\", line 2, row 1: "), "{}", intake.refused[0]);
    let deep = |w: &&String| w.contains("could not be read, first at line 3 of sheet \"Winter\": \"deep\"");
    assert_eq!(intake.warnings.iter().filter(deep).count(), 1, "{:?}", intake.warnings);
    // Of two sheets one of which holds no table, too.
    let one = took("one.ods", &ods(&[("Words", &[&["nothing", "here"]]), ("Finds", &[heads, &["45.0001", "north", "penny"]])]));
    assert_eq!(one.refused[0].place(), "sheet \"Finds\", line 2, row 1");
}

/// What a workbook does not show, or never worked out, is told.
#[test]
fn hidden_sheets_and_rows_and_formulas_without_a_value_are_told() {
    let shown = xlsx(
        &[&[("A1", "what"), ("B1", "lon"), ("C1", "lat"), ("D1", "depth_cm")], &[("A2", "ring"), ("B2", "-20"), ("C2", "45")]],
        "",
    );
    assert!(!took("a.xlsx", &shown).warnings.join("").contains("hidden"));
    let mut parts = Vec::new();
    let mut archive = zip::ZipArchive::new(Cursor::new(shown)).unwrap();
    for n in 0..archive.len() {
        let mut file = archive.by_index(n).unwrap();
        let mut text = String::new();
        file.read_to_string(&mut text).unwrap();
        let formula = "<c r=\"D2\"><f>2+3</f><v></v></c></row></sheetData>";
        let text = text
            .replace("sheetId=", "state=\"hidden\" sheetId=")
            .replace("<row r=\"2\">", "<row r=\"2\" hidden=\"1\">")
            .replace("</row></sheetData>", formula);
        parts.push((file.name().unwrap().into_owned(), text));
    }
    let files: Vec<(&str, &[u8])> = parts.iter().map(|(name, text)| (name.as_str(), text.as_bytes())).collect();
    let intake = took("b.xlsx", &zipped(&files));
    let warned = intake.warnings.join("\n");
    assert_eq!(intake.taken[&RecordKind::Find], 1);
    assert!(warned.contains("the sheet \"Finds\" is hidden"), "{warned}");
    assert!(warned.contains("1 row(s) of the workbook are hidden"), "{warned}");
    assert!(warned.contains("1 cell(s) of the sheet \"Finds\" hold a formula and no value, first in row 2"), "{warned}");
    let open = |row: &str| {
        let cell =
            |text: &str| format!("<table:table-cell office:value-type=\"string\"><text:p>{text}</text:p></table:table-cell>");
        let cells = |texts: [&str; 3]| texts.map(cell).concat();
        zipped_ods(&format!(
            "<office:document-content xmlns:office=\"urn:o\" xmlns:table=\"urn:t\" xmlns:text=\"urn:x\"><office:body>\
             <office:spreadsheet><table:table table:name=\"Finds\"><table:table-row>{}</table:table-row><table:table-row{row}>{}\
             <table:table-cell table:formula=\"of:=2+3\"/></table:table-row></table:table></office:spreadsheet></office:body>\
             </office:document-content>",
            cells(["what", "lon", "lat"]),
            cells(["ring", "-20", "45"])
        ))
    };
    let warned = took("a.ods", &open(" table:visibility=\"collapse\"")).warnings.join("\n");
    assert!(warned.contains("1 row(s) of the sheet \"Finds\" are hidden, first row 2"), "{warned}");
    assert!(warned.contains("hold a formula and no value, first in row 2"), "{warned}");
    assert!(!took("b.ods", &open("")).warnings.join("").contains("hidden"));
}
