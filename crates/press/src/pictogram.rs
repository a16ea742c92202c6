//! The nine pictograms of the Globally Harmonized System, as vectors.
//!
//! Drawn by us from CLP Annex I, 1.2.1: a square set on its point, a black symbol
//! on a white ground, a red frame wide enough to be clearly visible. The symbols'
//! names are those of CLP Annex V and the GHS (from memory). How wide the frame is,
//! which red, and the line of each symbol are our own drawing.
//!
//! Unlike the charts they do not follow the theme: their colours are the law's.

use kurbo::BezPath;

use crate::paper::{Colour, Drawing, Paint};
use crate::svg::El;
use Ink::{Black, White};

/// A hazard pictogram.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Pictogram {
    /// GHS01.
    ExplodingBomb,
    /// GHS02.
    Flame,
    /// GHS03.
    FlameOverCircle,
    /// GHS04.
    GasCylinder,
    /// GHS05.
    Corrosion,
    /// GHS06.
    SkullAndCrossbones,
    /// GHS07.
    ExclamationMark,
    /// GHS08.
    HealthHazard,
    /// GHS09.
    Environment,
}

impl Pictogram {
    /// All nine, by code.
    pub const ALL: [Self; 9] = [
        Self::ExplodingBomb,
        Self::Flame,
        Self::FlameOverCircle,
        Self::GasCylinder,
        Self::Corrosion,
        Self::SkullAndCrossbones,
        Self::ExclamationMark,
        Self::HealthHazard,
        Self::Environment,
    ];

    /// Reads a code: `GHS07`. There is no pictogram for any other text.
    pub fn parse(code: &str) -> Option<Self> {
        let code = code.trim();
        Self::ALL
            .into_iter()
            .find(|one| one.code().eq_ignore_ascii_case(code))
    }

    /// Its code: `GHS07`.
    pub fn code(self) -> &'static str {
        self.drawn().0
    }

    /// What the symbol shows: `exclamation mark`.
    pub fn name(self) -> &'static str {
        self.drawn().1
    }

    /// Returns a complete `svg` element, `side_mm` along one side of the square.
    ///
    /// The law measures the side; set on its point the square is wider by the
    /// square root of two, see [`width_mm`](Self::width_mm). A side that is not
    /// a length gives one of 10 mm, the least there is (CLP Annex I, 1.2.1: 1 cm²).
    pub fn svg(self, side_mm: f64) -> String {
        let width = format!("{}mm", rounded(Self::width_mm(side_mm)));
        let (code, name, _) = self.drawn();
        let mut inside = vec![El::new("title").text(format!("{name} ({code})"))];
        inside.extend(self.paths());
        El::new("svg")
            .attr("xmlns", "http://www.w3.org/2000/svg")
            .class("pictogram")
            .attr("role", "img")
            .attr("aria-label", format!("{name} ({code})"))
            .attr("width", width.as_str())
            .attr("height", width)
            .attr("viewBox", "0 0 1000 1000")
            .holding(inside)
            .to_string()
    }

    /// Draws it for paper, `side_mm` along one side of the square, standing on its point.
    pub fn drawing(self, side_mm: f64) -> Drawing {
        let width = Self::width_mm(side_mm);
        let scale = kurbo::Affine::scale(width / 1000.0);
        let mut drawing = Drawing::new(width, width);
        let mut fill = |colour, d: &str| {
            if let Ok(path) = BezPath::from_svg(d) {
                drawing.path(scale * path, Paint::fill(colour));
            }
        };
        fill(Colour::HAZARD_RED, FRAME);
        fill(Colour::WHITE, GROUND);
        for (ink, d) in self.drawn().2 {
            let colour = match ink {
                Black => Colour::BLACK,
                White => Colour::WHITE,
            };
            fill(colour, d);
        }
        drawing
    }

    /// How wide and high a pictogram stands on its point, in millimetres.
    pub fn width_mm(side_mm: f64) -> f64 {
        let side = if side_mm.is_finite() && side_mm > 0.0 {
            side_mm.min(1000.0)
        } else {
            10.0
        };
        side * std::f64::consts::SQRT_2
    }

    /// The shapes in a box of 1000 units, frame first.
    pub(crate) fn paths(self) -> Vec<El> {
        let path = |fill: &str, d: &str| El::new("path").attr("fill", fill).attr("d", d);
        let mut paths = vec![path("#e2001a", FRAME), path("#fff", GROUND)];
        paths.extend(self.drawn().2.iter().map(|(ink, d)| {
            path(
                match ink {
                    Black => "#000",
                    White => "#fff",
                },
                d,
            )
        }));
        paths
    }

    fn drawn(self) -> (&'static str, &'static str, &'static [(Ink, &'static str)]) {
        match self {
            Self::ExplodingBomb => ("GHS01", "exploding bomb", GHS01),
            Self::Flame => ("GHS02", "flame", GHS02),
            Self::FlameOverCircle => ("GHS03", "flame over circle", GHS03),
            Self::GasCylinder => ("GHS04", "gas cylinder", GHS04),
            Self::Corrosion => ("GHS05", "corrosion", GHS05),
            Self::SkullAndCrossbones => ("GHS06", "skull and crossbones", GHS06),
            Self::ExclamationMark => ("GHS07", "exclamation mark", GHS07),
            Self::HealthHazard => ("GHS08", "health hazard", GHS08),
            Self::Environment => ("GHS09", "environment", GHS09),
        }
    }
}

fn rounded(mm: f64) -> String {
    let text = format!("{mm:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

#[derive(Debug, Clone, Copy)]
enum Ink {
    Black,
    White,
}

// A box of 1000 units; later shapes lie over earlier ones. Every path is made of
// absolute moves, lines and curves, so that a test can measure it.

/// The whole square; what the ground leaves of it is the frame, a
/// seventeenth of the side wide.
const FRAME: &str = "M500 0L1000 500L500 1000L0 500z";
const GROUND: &str = "M500 57L943 500L500 943L57 500z";
const GHS01: &[(Ink, &str)] = &[
    (
        Black,
        "M348 612C348 534 412 470 490 470C568 470 632 534 632 612C632 690 568 754 490 754C412 754 348 690 348 612z",
    ),
    (
        White,
        "M363 539L410 583L447 557L473 597L510 577L547 544L565 588L617 539L490 409z",
    ),
    (Black, "M505 544L477 177L473 177L471 545z"),
    (Black, "M459 538L312 323L309 326L437 552z"),
    (Black, "M539 548L667 284L663 282L516 536z"),
    (Black, "M389 539L235 462L233 466L376 561z"),
    (Black, "M593 563L779 434L776 431L579 541z"),
    (Black, "M660 617L786 604L786 600L659 595z"),
    (Black, "M321 595L239 601L239 605L320 617z"),
    (Black, "M441 426L393 287L389 288L426 431z"),
    (Black, "M541 427L576 249L572 248L525 423z"),
    (Black, "M629 479L750 345L748 342L618 468z"),
    (Black, "M355 475L243 379L241 382L344 487z"),
    (White, "M647 341L718 343L743 406L694 442L638 415z"),
    (Black, "M657 354L710 355L729 402L692 429L650 410z"),
    (White, "M310 371L353 425L322 482L265 468L250 411z"),
    (Black, "M307 387L339 427L316 469L274 459L262 416z"),
    (White, "M515 311L561 290L599 332L552 361z"),
    (Black, "M529 315L559 301L585 329L554 349z"),
    (White, "M389 325L438 338L440 395L386 388z"),
    (Black, "M397 337L430 346L431 384L395 379z"),
    (White, "M710 505L759 519L761 575L707 568z"),
    (Black, "M718 517L751 527L752 564L716 559z"),
    (White, "M227 532L276 520L306 568L256 589z"),
    (Black, "M240 539L273 530L293 562L259 576z"),
];
const GHS02: &[(Ink, &str)] = &[
    (
        Black,
        "M455 668C380 655 318 600 318 522C318 462 352 432 352 352C384 374 402 410 402 448C440 400 468 340 452 262C446 230 432 204 410 178C508 200 580 278 582 362C582 388 578 402 570 424C594 408 606 376 600 332C654 392 690 452 684 528C678 600 624 655 545 668C598 636 612 586 590 538C580 560 570 572 554 580C562 520 540 462 486 420C494 478 468 508 442 546C416 586 420 640 455 668z",
    ),
    (Black, "M330 692L670 692L670 736L330 736z"),
];
const GHS03: &[(Ink, &str)] = &[
    (
        Black,
        "M463 576C399 566 345 520 345 455C345 405 375 381 375 314C402 332 418 362 418 394C450 354 474 304 461 239C456 213 444 191 425 170C509 188 571 253 573 322C573 344 569 356 562 374C583 361 593 334 588 298C634 347 665 397 660 460C655 520 609 566 541 576C586 550 598 508 583 462C571 429 536 405 490 371C497 419 474 444 452 475C430 508 433 553 463 576z",
    ),
    (
        White,
        "M368 590C368 517 427 458 500 458C573 458 632 517 632 590C632 663 573 722 500 722C427 722 368 663 368 590z",
    ),
    (
        Black,
        "M388 590C388 528 438 478 500 478C562 478 612 528 612 590C612 652 562 702 500 702C438 702 388 652 388 590z",
    ),
    (
        White,
        "M432 590C432 552 462 522 500 522C538 522 568 552 568 590C568 628 538 658 500 658C462 658 432 628 432 590z",
    ),
    (Black, "M345 718L655 718L655 758L345 758z"),
];
const GHS04: &[(Ink, &str)] = &[
    (
        Black,
        "M245 552L571 378C620 353 655 366 669 381L693 368L684 352L737 324L778 402L726 430L717 414L693 427C698 446 689 483 641 509L314 683C295 693 272 667 253 631C234 596 225 562 245 552z",
    ),
    (White, "M271 570L576 408C598 396 615 396 627 403L280 587z"),
];
const GHS05: &[(Ink, &str)] = &[
    (
        Black,
        "M477 291L313 406L320 416L303 427L246 345L262 334L269 344L433 229C474 200 518 262 477 291z",
    ),
    (
        White,
        "M469 280L302 397L291 382L482 253C484 267 477 274 469 280z",
    ),
    (
        Black,
        "M523 291L687 406L680 416L697 427L754 345L738 334L731 344L567 229C526 200 482 262 523 291z",
    ),
    (
        White,
        "M531 280L698 397L709 382L518 253C516 267 523 274 531 280z",
    ),
    (
        Black,
        "M306 456C312 471 325 478 325 490C325 507 287 507 287 490C287 478 300 471 306 456z",
    ),
    (
        Black,
        "M306 526C312 541 325 548 325 560C325 577 287 577 287 560C287 548 300 541 306 526z",
    ),
    (
        Black,
        "M694 456C700 471 713 478 713 490C713 507 675 507 675 490C675 478 688 471 694 456z",
    ),
    (
        Black,
        "M694 526C700 541 713 548 713 560C713 577 675 577 675 560C675 548 688 541 694 526z",
    ),
    (
        Black,
        "M268 606C286 606 280 638 298 636C310 634 318 650 330 638C342 626 338 606 360 606L474 606L474 676L268 676z",
    ),
    (
        Black,
        "M735 592L735 652C712 660 700 668 676 672L640 692C622 702 606 690 616 674L628 662L558 668C536 670 524 660 530 648C518 642 518 628 530 622C526 610 538 600 556 602L638 600C654 600 650 628 668 628C678 628 684 640 694 630C704 620 702 598 722 594z",
    ),
    (White, "M526 624L530 620L622 626L622 631L532 630z"),
    (White, "M530 650L534 645L622 644L624 649L536 655z"),
];
const GHS06: &[(Ink, &str)] = &[
    (Black, "M308 601L666 711L678 669L320 559z"),
    (
        Black,
        "M275 605C275 588 289 574 306 574C323 574 337 588 337 605C337 622 323 636 306 636C289 636 275 622 275 605z",
    ),
    (
        Black,
        "M291 555C291 538 305 524 322 524C339 524 353 538 353 555C353 572 339 586 322 586C305 586 291 572 291 555z",
    ),
    (
        Black,
        "M633 715C633 698 647 684 664 684C681 684 695 698 695 715C695 732 681 746 664 746C647 746 633 732 633 715z",
    ),
    (
        Black,
        "M649 665C649 648 663 634 680 634C697 634 711 648 711 665C711 682 697 696 680 696C663 696 649 682 649 665z",
    ),
    (Black, "M680 559L322 669L334 711L692 601z"),
    (
        Black,
        "M647 555C647 538 661 524 678 524C695 524 709 538 709 555C709 572 695 586 678 586C661 586 647 572 647 555z",
    ),
    (
        Black,
        "M663 605C663 588 677 574 694 574C711 574 725 588 725 605C725 622 711 636 694 636C677 636 663 622 663 605z",
    ),
    (
        Black,
        "M289 665C289 648 303 634 320 634C337 634 351 648 351 665C351 682 337 696 320 696C303 696 289 682 289 665z",
    ),
    (
        Black,
        "M305 715C305 698 319 684 336 684C353 684 367 698 367 715C367 732 353 746 336 746C319 746 305 732 305 715z",
    ),
    (
        Black,
        "M500 205C600 205 662 270 662 352C662 398 646 428 622 452C612 462 606 474 606 488C606 516 594 534 568 540L432 540C406 534 394 516 394 488C394 474 388 462 378 452C354 428 338 398 338 352C338 270 400 205 500 205z",
    ),
    (
        White,
        "M440 350C476 350 484 372 480 398C476 424 456 434 430 434C402 434 384 420 384 396C384 368 408 350 440 350z",
    ),
    (
        White,
        "M560 350C524 350 516 372 520 398C524 424 544 434 570 434C598 434 616 420 616 396C616 368 592 350 560 350z",
    ),
    (
        White,
        "M500 424C510 436 524 458 526 472C520 482 508 476 500 470C492 476 480 482 474 472C476 458 490 436 500 424z",
    ),
    (White, "M435 498L445 498L445 541L435 541z"),
    (White, "M475 498L485 498L485 541L475 541z"),
    (White, "M515 498L525 498L525 541L515 541z"),
    (White, "M555 498L565 498L565 541L555 541z"),
];
const GHS07: &[(Ink, &str)] = &[
    (
        Black,
        "M500 200C550 200 582 236 578 288L547 570C544 602 526 620 500 620C474 620 456 602 453 570L422 288C418 236 450 200 500 200z",
    ),
    (
        Black,
        "M436 728C436 693 465 664 500 664C535 664 564 693 564 728C564 763 535 792 500 792C465 792 436 763 436 728z",
    ),
];
const GHS08: &[(Ink, &str)] = &[
    (
        Black,
        "M500 180C552 180 582 216 582 268C582 312 566 342 546 362L546 394C556 412 580 420 612 430C668 448 694 478 694 540L694 640L606 735L394 735L306 640L306 540C306 478 332 448 388 430C420 420 444 412 454 394L454 362C434 342 418 312 418 268C418 216 448 180 500 180z",
    ),
    (
        White,
        "M500 394L519 533L621 496L538 566L649 652L519 599L500 706L481 599L351 652L462 566L379 496L481 533z",
    ),
];
const GHS09: &[(Ink, &str)] = &[
    (Black, "M406 651L388 441L346 444L339 654z"),
    (Black, "M389 466L393 318L368 315L345 461z"),
    (Black, "M393 329L398 206L394 206L368 325z"),
    (Black, "M381 506L303 427L290 437L358 526z"),
    (Black, "M300 431L252 414L250 416L292 446z"),
    (Black, "M307 438L282 369L279 369L292 442z"),
    (Black, "M384 414L328 334L317 341L361 429z"),
    (Black, "M330 341L311 285L309 285L317 343z"),
    (Black, "M386 397L442 321L434 312L369 383z"),
    (Black, "M442 322L450 259L447 259L432 320z"),
    (Black, "M436 328L483 305L481 303L432 318z"),
    (Black, "M380 568L454 490L443 479L359 548z"),
    (Black, "M447 495L501 477L501 475L445 482z"),
    (Black, "M451 491L462 432L460 432L438 487z"),
    (
        Black,
        "M346 464C346 452 355 442 367 442C378 442 388 452 388 464C388 475 378 484 367 484C355 484 346 475 346 464z",
    ),
    (
        Black,
        "M367 322C367 314 372 309 379 309C387 309 392 314 392 322C392 329 387 334 379 334C372 334 367 329 367 322z",
    ),
    (
        Black,
        "M212 638C270 632 312 642 339 610L409 610C428 642 470 642 501 671C564 694 648 671 734 686L715 709C648 705 564 732 480 709C396 694 291 694 251 676z",
    ),
    (
        White,
        "M478 600C493 558 564 516 638 537C664 545 682 558 696 571L766 516C755 558 755 600 770 642L692 606C658 642 606 657 564 650C522 644 490 625 478 600z",
    ),
    (
        Black,
        "M478 600C493 558 564 516 638 537C664 545 682 558 696 571L766 516C755 558 755 600 770 642L692 606C658 642 606 657 564 650C522 644 490 625 478 600z",
    ),
    (
        White,
        "M524 579L532 571L545 583L558 571L566 579L554 592L566 604L558 613L545 600L532 613L524 604L537 592z",
    ),
    (
        White,
        "M593 537C579 573 579 610 596 650L606 648C593 613 593 575 606 535z",
    ),
    (
        Black,
        "M606 542C627 506 658 495 686 501C669 516 665 537 658 554z",
    ),
];

#[cfg(test)]
mod tests {
    use super::*;

    /// The points of a path; control points count, and a curve stays inside them.
    fn points(d: &str) -> Vec<(f64, f64)> {
        let figures: Vec<f64> = d
            .split(['M', 'L', 'C', 'z', ' '])
            .filter(|figure| !figure.is_empty())
            .map(|figure| figure.parse().expect("only absolute figures"))
            .collect();
        assert_eq!(figures.len() % 2, 0, "{d}");
        figures.chunks(2).map(|pair| (pair[0], pair[1])).collect()
    }

    #[test]
    fn every_symbol_is_black_fills_its_square_and_keeps_off_the_frame() {
        for one in Pictogram::ALL {
            let mut reach: f64 = 0.0;
            let (mut high, mut low) = (f64::INFINITY, 0.0_f64);
            for (ink, d) in one.drawn().2 {
                for (x, y) in points(d) {
                    if matches!(ink, Black) {
                        reach = reach.max((x - 500.0).abs() + (y - 500.0).abs());
                        high = high.min(y);
                        low = low.max(y);
                    }
                }
            }
            // The white ends 443 units from the middle.
            assert!(reach < 435.0 && reach > 290.0, "{}: {reach}", one.code());
            assert!(low - high > 350.0, "{}: {high} to {low}", one.code());
        }
    }

    #[test]
    fn the_frame_is_as_wide_as_it_says() {
        let outer = points(FRAME)[0].1;
        let inner = points(GROUND)[0].1;
        // From corner to corner the frame shows at 45 degrees.
        let wide = (inner - outer) / 2.0_f64.sqrt();
        let side = 1000.0 / 2.0_f64.sqrt();
        assert!((side / wide - 17.5).abs() < 0.1, "{}", side / wide);
    }
}
