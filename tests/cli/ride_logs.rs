//! Logs of rides through the real programs: read, kept, listed, shown, damaged, backed up.

use lockring_proto::v1;

use crate::support::Shop;

const FILES: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference/ride_files");

fn import(shop: &Shop, file: &str) -> String {
    shop.line(&format!("ride 2 import {FILES}/{file} --meter wheel"))
        .ok()
}

fn shown(shop: &Shop, number: u32) -> v1::ShowRideLogReply {
    serde_json::from_value(shop.json(&format!("ride 2 log {number}"))[0].clone()).unwrap()
}

#[test]
fn a_ride_is_read_kept_and_shown() {
    let shop = Shop::with_demo_jobs();
    let said = import(&shop, "ride.fit");
    assert!(
        said.contains("log 1: ride.fit (FIT, 1801 samples, 31 min, 11.71 km"),
        "{said}"
    );
    assert!(said.contains("lockring ride 2 hill speed="), "{said}");
    let reply = shown(&shop, 1);
    let log = reply.log.unwrap();
    // The last distance three other readers get from the file; 439.240 kJ of truth at the wheel, a
    // second of it in the pause.
    assert!((log.distance_km - 11.708_49).abs() < 1e-9);
    assert!((log.work_wh.unwrap() - 439.24 / 3.6).abs() < 0.1);
    assert!(log.mended.is_empty(), "{:?}", log.mended);
    // A hundred and twenty steps of 15.4 s, of which two lie wholly in the pause of 46 s.
    assert_eq!(reply.course.len(), 118);
    let fit = &log.fits[0];
    assert_eq!((fit.free.as_str(), log.meter.as_str()), ("nothing", "wheel"));
    assert_eq!(fit.told_apart, fit.correlation.abs() <= 0.95);
    let text = shop.line("ride 2 log 1").ok();
    for part in [
        "Usable stretches",
        "climb",
        "power meter (wheel) 121.9 Wh",
        "SHA-256 ",
    ] {
        assert!(text.contains(part), "{part}: {text}");
    }
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    let list = shop.line("ride 2 logs").ok();
    assert!(list.contains("ride.fit") && list.contains("11.71"), "{list}");
    // Worked out anew from the file that was kept, the figures are the same.
    let anew = shop.json("ride 2 log 1 --anew")[0].clone();
    let anew: v1::ShowRideLogReply = serde_json::from_value(anew).unwrap();
    assert_eq!(anew.log.unwrap(), log);
    assert!(shop.line("verify").ok().contains("job"));
}

#[test]
fn a_dry_run_keeps_nothing_and_a_twin_is_refused() {
    let shop = Shop::with_demo_jobs();
    let said = shop
        .line(&format!("ride 2 import {FILES}/ride.tcx --dry-run"))
        .ok();
    assert!(said.contains("TCX, 1801 samples"), "{said}");
    assert!(shop.line("ride 2 logs").ok().contains("none; read one with"));
    let missing = shop.line("ride 2 log 1").fails(4);
    assert!(missing.contains("job 2 has no log 1"), "{missing}");
    import(&shop, "ride.tcx");
    let twin = shop.line(&format!("ride 2 import {FILES}/ride.tcx")).fails(4);
    assert!(
        twin.contains("ride.tcx was read already: it is log 1 of job 2"),
        "{twin}"
    );
    shop.line("undo 2").ok();
    assert!(shop.line("ride 2 logs").ok().contains("none; read one with"));
    import(&shop, "ride.tcx");
}

#[test]
fn a_damaged_file_gives_what_can_be_rescued_and_says_so() {
    // What the best of three other readers gets from each: 1201, 1801 and 901 records.
    let shop = Shop::with_demo_jobs();
    for (number, file, least) in [
        (1, "ride_truncated.fit", 1201),
        (2, "ride_badcrc.fit", 1801),
        (3, "ride_badstream.fit", 901),
    ] {
        let said = import(&shop, file);
        assert!(said.contains("mended or lost: "), "{said}");
        let log = shown(&shop, number).log.unwrap();
        assert!(
            log.samples >= least && !log.mended.is_empty(),
            "{file}: {}",
            log.samples
        );
    }
}

#[test]
fn columns_go_by_any_name_and_what_is_no_ride_is_refused() {
    let shop = Shop::with_demo_jobs();
    let path = shop.folder().join("logger.csv");
    let rows: Vec<String> = (0..200).map(|t| format!("{t};18,0;{};90", 100 + t / 2)).collect();
    std::fs::write(&path, format!("Sekunde;v;Hoehe;P\n{}\n", rows.join("\n"))).unwrap();
    let path = path.display();
    let refused = shop.line(&format!("ride 2 import {path}")).fails(4);
    assert!(
        refused.contains("no column of times") && refused.contains("--columns"),
        "{refused}"
    );
    let named = "Sekunde=time_s,v=speed_kmh,Hoehe=height_m,P=power_w";
    let said = shop.line(&format!("ride 2 import {path} --columns {named}")).ok();
    // 18 km/h for 199 s are 995 m; half a metre a second at 5 m/s are 10 % by the road, counted in
    // whole metres every other second; the climbing counts by a band of 2 m.
    assert!(said.contains("200 samples, 3 min, 0.99 km, 98 m up"), "{said}");
    assert!(said.contains("hill speed=18.0km/h grade=10."), "{said}");
    let wrong = shop
        .line(&format!("ride 2 import {path} --columns v=sped"))
        .fails(6);
    assert!(wrong.contains("`sped` is no quantity of a ride log"), "{wrong}");
    let odd = shop
        .line(&format!("ride 2 import {FILES}/ride.fit --columns v=speed"))
        .fails(4);
    assert!(odd.contains("no table of columns"), "{odd}");
    shop.line("ride 2 import").fails(4);
    shop.line("ride 2 log one").fails(4);
    shop.line("ride 2 import /nowhere.fit").fails(4);
    shop.line(&format!("ride 2 import {FILES}/ride.fit --meter pocket"))
        .fails(6);
}
