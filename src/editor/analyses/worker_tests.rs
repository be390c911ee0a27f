//! The worker: the latest request wins, nothing of another amp is kept, work is shared.

use super::*;
use crate::circuit::built_in_circuits;
use crate::device::Catalogue;

fn request(value: f64) -> Request {
    let catalogue = Arc::new(Catalogue::built_in());
    let text = built_in_circuits()[0].text.as_bytes();
    let amp = Arc::new(LiveAmp::read(text, None, catalogue).unwrap());
    let as_found = amp.filed();
    let mut proposed = as_found.clone();
    proposed[amp.find("R505").unwrap()] = value;
    Request {
        boost_db: None,
        amp,
        as_found,
        proposed,
        node: None,
        cabinet: Default::default(),
        adjustable: None,
        prices: Arc::new(crate::advice::prices::Prices::built_in()),
        solved: Default::default(),
    }
}

#[test]
fn the_latest_request_wins_and_dropping_gives_slow_work_up() {
    let mut worker = Worker::new(|| {});
    let first = request(13e3);
    for value in [13e3, 14e3, 15e3] {
        let mut next = Request {
            solved: Default::default(),
            ..first.clone()
        };
        next.proposed[first.amp.find("R505").unwrap()] = value;
        worker.ask(next);
    }
    assert!(worker.wait_quick(Duration::from_secs(60)));
    let quick = worker.known().quick.unwrap().unwrap();
    let adjustable = first.amp.find("R505").unwrap();
    assert_eq!(quick.request.proposed[adjustable], 15e3);
    assert!(quick.charts.proposed.valves.get("V3").unwrap().anode_watts < 10.0);
    println!("quick work: {:?}", quick.took);
    // Long enough for the slow work to have begun.
    std::thread::sleep(STILL * 2);
    let start = Instant::now();
    drop(worker);
    println!("dropping: {:?}", start.elapsed());
    assert!(start.elapsed() < Duration::from_secs(20));
}

#[test]
fn nothing_of_another_amp_is_kept_although_it_comes_late() {
    let mut worker = Worker::new(|| {});
    let (first, second) = (request(13e3), request(13e3));
    worker.ask(first.clone());
    assert!(worker.wait_quick(Duration::from_secs(60)));
    assert!(worker.known().quick.is_some());
    // With its threads gone, nobody answers for the second amp.
    worker.shared.lock().closing = true;
    worker.shared.changed.notify_all();
    for thread in worker.threads.drain(..) {
        let _ = thread.join();
    }
    worker.ask(second.clone());
    let known = worker.known();
    assert!(known.quick.is_none() && known.judged.is_none() && known.effect.is_none());
    // What a thread has begun for the first amp would not be taken any more.
    let board = worker.shared.lock();
    assert!(!board.is_about(&first.amp) && board.is_about(&second.amp));
}

#[test]
fn all_reports_about_the_same_values_share_one_network_and_one_solution() {
    let first = request(13e3);
    let quick = quick(&first).unwrap();
    let solved = quick.request.solved().unwrap();
    assert!(Arc::ptr_eq(&solved.network, first.amp.network()));
    effect(&first, first.amp.find("R505").unwrap()).unwrap();
    let mut next = request(13e3);
    next.amp = Arc::clone(&first.amp);
    next.share(&first);
    assert!(Arc::ptr_eq(&next.solved().unwrap(), &solved));
    // What is proposed is not solved again for the verdict either, nor the network compiled.
    let proposal = next.amp.proposal(&next.proposed, &next.as_found);
    let proposed = proposal.apply(&solved.as_found.circuit).unwrap();
    let judged = solved.proposing(&proposed).unwrap();
    assert!(Arc::ptr_eq(&judged.network, first.amp.network()));
    let (again, known) = (judged.proposed.unwrap(), solved.proposed.as_ref().unwrap());
    assert_eq!(again.point.solution, known.point.solution);
    // Other values are solved anew, with the same network.
    let mut other = request(14e3);
    other.amp = Arc::clone(&first.amp);
    other.share(&next);
    let other = other.solved().unwrap();
    assert!(!Arc::ptr_eq(&other, &solved));
    assert!(Arc::ptr_eq(&other.network, first.amp.network()));
}
