use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::printable::printable;
use crate::output::MARK;

/// A table of a report.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Table {
    /// Its heading.
    pub heading: String,
    /// The heads of its columns, units included.
    pub columns: Vec<String>,
    /// Its rows; short rows leave the last cells empty.
    pub rows: Vec<Vec<String>>,
    /// What the reader should know about the figures.
    pub note: String,
}

/// A report for people: one self-contained page that prints on A4.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Report {
    /// Heading.
    pub title: String,
    /// Paragraphs under it.
    pub opening: Vec<String>,
    /// The beach from above, an SVG document of our own making.
    pub picture_svg: String,
    /// Tables in order.
    pub tables: Vec<Table>,
    /// Cautions, duties and sources, one sentence each.
    pub closing: Vec<String>,
}

const STYLE: &str = "body{font:15px/1.45 Georgia,serif;color:#26282c;background:#fff;max-width:52rem;margin:2rem auto;padding:0 1rem}\
h1,h2{font-family:sans-serif;line-height:1.2}h1{font-size:1.6rem}h2{font-size:1.1rem;margin-top:1.8rem}\
table{border-collapse:collapse;width:100%;font:13px/1.35 sans-serif}th,td{text-align:left;padding:.25rem .6rem .25rem 0;border-bottom:1px solid #d8d2c2;vertical-align:top}\
td.n,th.n{text-align:right}p.note,footer{font-size:.85rem;color:#55534c}svg{width:100%;height:auto;border:1px solid #d8d2c2}\
@page{size:A4;margin:16mm}@media print{body{margin:0;max-width:none}table,svg{break-inside:avoid}}";

impl Report {
    /// The report as an HTML document.
    pub fn html(&self) -> String {
        let page = html! {
            (DOCTYPE)
            html lang="en" {
                head {
                    meta charset="utf-8";
                    meta name="generator" content=(format_args!("Scourline {MARK}"));
                    meta name="viewport" content="width=device-width";
                    title { (printable(&self.title)) }
                    style { (PreEscaped(STYLE)) }
                }
                body {
                    // Text of people's own may run from right to left: each block finds its own direction.
                    main {
                        h1 dir="auto" { (printable(&self.title)) }
                        @for paragraph in &self.opening { p dir="auto" { (printable(paragraph)) } }
                        @if !self.picture_svg.is_empty() {
                            figure style="margin:0" { (PreEscaped(&self.picture_svg)) }
                        }
                        @for table in &self.tables { (table.html()) }
                    }
                    footer { @for line in &self.closing { p dir="auto" { (printable(line)) } } }
                }
            }
        };
        page.into_string()
    }
}

impl Table {
    fn html(&self) -> Markup {
        let numeric: Vec<bool> = (0..self.columns.len()).map(|c| self.is_numeric(c)).collect();
        let class = |c: usize| (numeric.get(c) == Some(&true)).then_some("n");
        let cell = |row: &[String], c: usize| printable(row.get(c).map_or("", String::as_str)).into_owned();
        html! {
            h2 dir="auto" { (printable(&self.heading)) }
            @if self.rows.is_empty() {
                p { "None." }
            } @else {
                table {
                    thead {
                        tr { @for (c, head) in self.columns.iter().enumerate() { th scope="col" class=[class(c)] { (printable(head)) } } }
                    }
                    tbody {
                        @for row in &self.rows {
                            tr { @for c in 0..self.columns.len() { td class=[class(c)] dir="auto" { (cell(row, c)) } } }
                        }
                    }
                }
            }
            @if !self.note.is_empty() {
                p class="note" dir="auto" { (printable(&self.note)) }
            }
        }
    }

    fn is_numeric(&self, column: usize) -> bool {
        let mut cells = self.rows.iter().filter_map(|r| r.get(column)).filter(|t| !t.is_empty()).peekable();
        cells.peek().is_some() && cells.all(|t| t.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '-' | '−' | '+')))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_from_outside_cannot_become_markup() {
        let evil = "<script>alert(1)</script>".to_owned();
        let table =
            Table { heading: evil.clone(), columns: vec![evil.clone()], rows: vec![vec![evil.clone()]], note: evil.clone() };
        let report = Report {
            title: evil.clone(),
            opening: vec![evil.clone()],
            tables: vec![table],
            closing: vec![evil],
            ..Report::default()
        };
        assert!(!report.html().contains("<script>"));
        assert_eq!(report.html().matches("&lt;script&gt;").count(), 8);
    }

    #[test]
    fn columns_of_figures_stand_right_and_empty_tables_say_so() {
        let table = Table {
            columns: vec!["band".into(), "finds".into()],
            rows: vec![vec!["above MHWS".into(), "12".into()], vec!["MHWS to MHWN".into()]],
            ..Table::default()
        };
        assert!(!table.is_numeric(0) && table.is_numeric(1) && !table.is_numeric(2));
        let report = Report { tables: vec![table, Table::default()], ..Report::default() };
        assert!(report.html().contains("<td class=\"n\" dir=\"auto\">12</td>"));
        assert!(report.html().contains("<p>None.</p>"));
    }
}
