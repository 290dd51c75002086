//! NMEA 0183 logs: whole, cut, garbled, over midnight, and with dates 1,024 weeks off.

use super::common::{book, records, try_take};
use proptest::prelude::*;
use scourline::book::{Record, Track};
use scourline::exchange::{About, Format, Intake, Options};

/// A sentence with its checksum: the exclusive or of what stands between `$` and `*` (NMEA 0183; a published sentence holds
/// the reader's own to it).
fn sum(body: &str) -> String {
    format!("${body}*{:02X}\r\n", body.bytes().fold(0, |sum, b| sum ^ b))
}

fn rmc(clock: &str, minutes: f64, date: &str) -> String {
    sum(&format!("GPRMC,{clock},A,45{minutes:07.4},N,02000.0000,W,0.5,90.0,{date},,,A"))
}

fn gga(clock: &str, minutes: f64) -> String {
    sum(&format!("GPGGA,{clock},45{minutes:07.4},N,02000.0000,W,1,08,0.9,2.5,M,46.9,M,,"))
}

fn now(now: &str) -> Options {
    Options { now: Some(now.parse().unwrap()), ..Options::default() }
}

fn log(text: &str) -> Intake {
    try_take("walk.nmea", text, &book(), &now("2024-06-01T00:00:00Z")).unwrap()
}

fn tracks(intake: &Intake) -> Vec<Track> {
    let mut tracks: Vec<_> =
        records(intake).into_iter().filter_map(|r| if let Record::Track(t) = r { Some((*t).clone()) } else { None }).collect();
    tracks.sort_by_key(Track::span);
    tracks
}

fn times(track: &Track) -> Vec<String> {
    track.points().map(|p| p.time().map_or_else(|| "-".to_owned(), |t| t.to_string())).collect()
}

#[test]
fn sentences_of_one_moment_make_one_fix_and_void_ones_none() {
    let text = [
        sum("GPGGA,100000,,,,,0,00,,,M,,M,,"),
        sum("GPRMC,100000,V,,,,,,,010524,,,N"),
        gga("100001.00", 0.0060),
        sum("GPGSV,3,1,11,03,03,111,00"),
        rmc("100001.00", 0.0060, "010524"),
        gga("100002.00", 0.0070),
        rmc("100002.00", 0.0070, "010524"),
    ]
    .concat();
    let intake = log(&text);
    assert_eq!((intake.format, intake.refused_count), (Format::Nmea, 0));
    let tracks = tracks(&intake);
    assert_eq!(times(&tracks[0]), ["2024-05-01T10:00:01Z", "2024-05-01T10:00:02Z"]);
    let first = tracks[0].points().next().unwrap();
    assert!((first.at.lat_deg() - 45.0001).abs() < 1e-9 && (first.at.lon_deg() + 20.0).abs() < 1e-9);
    assert_eq!((first.height_m(), first.satellites(), tracks[0].name.as_str()), (Some(2.5), Some(8), "walk"));
    assert!(
        intake.warnings.iter().any(|w| w.starts_with("1 fix(es) that the receiver itself marks as void")),
        "{:?}",
        intake.warnings
    );
    assert!(intake.unsettled.is_empty(), "{:?}", intake.unsettled);
    let again = try_take("copy.log", &text, &book(), &now("2024-06-01T00:00:00Z")).unwrap();
    assert_eq!(tracks[0].uid, self::tracks(&again)[0].uid);
}

#[test]
fn what_fails_its_checksum_or_is_cut_off_is_passed_over_and_told() {
    let good = rmc("100001", 0.006, "010524");
    let changed = rmc("100002", 0.007, "010524").replacen("45", "46", 1);
    let cut = rmc("100003", 0.008, "010524");
    let cut = &cut[..cut.len() - 8];
    let text = format!("{good}{changed}{cut}\r\nhello\n2024-05-01 10:00:04 {}", rmc("100004", 0.009, "010524"));
    let intake = log(&text);
    assert_eq!(times(&tracks(&intake)[0]), ["2024-05-01T10:00:01Z", "2024-05-01T10:00:04Z"]);
    let warned = intake.warnings.join("\n");
    for wanted in [
        "1 sentence(s) fail their checksum and were passed over, first at line 2",
        "cut off, and were passed over, first at line 3",
        "hold no sentence and were passed over, first at line 4",
    ] {
        assert!(warned.contains(wanted), "{wanted} in {warned}");
    }
    // A log whose sentences never had one is taken with a warning.
    let bare = good.replace(good.get(good.len() - 5..good.len() - 2).unwrap(), "");
    let intake = log(&bare);
    assert!(intake.warnings.iter().any(|w| w.contains("no sentence has a checksum")) && tracks(&intake).len() == 1);
}

#[test]
fn the_date_is_carried_over_midnight_and_back_before_the_first() {
    // Only some sentences give a date; a receiver may write the position before it.
    let text = [
        gga("235958", 0.001),
        gga("235959", 0.002),
        rmc("000000", 0.003, "020524"),
        gga("000001", 0.004),
        gga("235959", 0.005),
        gga("000000", 0.006),
    ]
    .concat();
    let intake = log(&text);
    let all: Vec<String> = tracks(&intake).iter().flat_map(times).collect();
    assert_eq!(
        all,
        [
            "2024-05-01T23:59:58Z",
            "2024-05-01T23:59:59Z",
            "2024-05-02T00:00:00Z",
            "2024-05-02T00:00:01Z",
            "2024-05-02T23:59:59Z",
            "2024-05-03T00:00:00Z"
        ]
    );
    assert_eq!(tracks(&intake).len(), 2, "a pause of a day parts two tracks");
    let undated = log(&[gga("100000", 0.001), gga("100001", 0.002)].concat());
    assert_eq!(times(&tracks(&undated)[0]), ["-", "-"]);
    assert!(undated.warnings.iter().any(|w| w.contains("no sentence gives a date")));
}

/// 1,024 weeks are 7,168 days: 15 October 2024 is written as 1 March 2005.
#[test]
fn dates_1024_weeks_too_early_are_asked_about_and_not_mended_silently() {
    let text = [rmc("100000", 0.001, "010305"), rmc("100001", 0.002, "010305")].concat();
    let look = |answer: Option<&'static str>| {
        let answers = answer.map(|a| (About::Weeks, a)).into_iter().collect();
        try_take("old.nmea", &text, &book(), &Options { answers, ..now("2024-11-01T00:00:00Z") }).unwrap()
    };
    let open = look(None);
    assert_eq!(open.unsettled.iter().map(|u| (u.about, u.taken)).collect::<Vec<_>>(), [(About::Weeks, None)]);
    assert!(open.unsettled[0].question.contains("2005-03-01") && open.unsettled[0].question.contains("2024-10-15"));
    assert_eq!(times(&tracks(&look(Some("later")))[0])[0], "2024-10-15T10:00:00Z");
    assert_eq!(times(&tracks(&look(Some("as-written")))[0])[0], "2005-03-01T10:00:00Z");
    // Were it to lie in the future, the date is what it says.
    let young = try_take("young.nmea", &text, &book(), &now("2024-10-01T00:00:00Z")).unwrap();
    assert!(young.unsettled.is_empty());
}

#[test]
fn an_empty_log_and_one_at_zero() {
    let intake = log(&sum("GPGSV,3,1,11,03,03,111,00"));
    assert!(intake.taken.is_empty() && intake.warnings.iter().any(|w| w.contains("holds no position")), "{intake:?}");
    let zero = log(&sum("GPRMC,100000,A,0000.0000,N,00000.0000,E,0,0,010524,,,A"));
    assert!(zero.taken.is_empty() && zero.warnings.iter().any(|w| w.contains("at 0, 0")), "{zero:?}");
}

proptest! {
    #[test]
    fn any_damage_to_a_log_is_read_or_refused(at in 0_usize..2000, gone in 0_usize..40, junk in proptest::collection::vec(any::<u8>(), 0..6)) {
        let mut bytes = [gga("235959", 0.002), rmc("000000", 0.003, "020524"), sum("GPZDA,000001,02,05,2024,00,00"), gga("000001", 0.004)].concat().into_bytes();
        let at = at % bytes.len();
        bytes.splice(at..(at + gone).min(bytes.len()), junk);
        if let Ok(intake) = try_take("any", &bytes, &book(), &Options::default()) {
            book().apply(&intake.edit).expect("an edit that was offered can be applied");
        }
    }

    /// Fields that no receiver writes, under a checksum that holds.
    #[test]
    fn any_fields_are_read_or_refused(sort in "RMC|GGA|GNS|ZDA", fields in proptest::collection::vec("[0-9]{0,6}|[0-9]{4}\\.[0-9]{0,4}|[NSEWAVDM]?|[-0-9.]{0,8}|é", 0..14)) {
        let text = rmc("100000", 0.001, "010524") + &sum(&format!("GP{sort},{}", fields.join(",")));
        if let Ok(intake) = try_take("any", &text, &book(), &Options::default()) {
            book().apply(&intake.edit).expect("an edit that was offered can be applied");
        }
    }
}
