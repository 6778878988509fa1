//! A small program to tell stories with.

use chrono::NaiveDate;
use domain::record::Record;
use domain::{
    BoxEnd, BoxFate, Change, Check, ChillBatch, ChillBox, Cross, CrossEvent, CrossEventKind, Edit,
    Genotype, Hemisphere, Id, IdSource, LotSource, Movement, MovementKind, Origin, Pollen, Project,
    Refusal, Regimen, SeedAmount, SeedLot, Sex, SexBasis, SexRecord, actions,
};

pub(crate) fn day(text: &str) -> NaiveDate {
    text.parse().expect("a date")
}

/// A project in the making, with everything it takes at hand.
pub(crate) struct Program {
    pub(crate) project: Project,
    pub(crate) ids: IdSource,
}

impl Program {
    pub(crate) fn begun() -> Self {
        Self::begun_in(Hemisphere::Northern)
    }

    pub(crate) fn begun_in(hemisphere: Hemisphere) -> Self {
        let mut ids = IdSource::new(0, 1);
        let mut project = Project::default();
        project
            .apply(actions::begin_project("Story", hemisphere, &mut ids))
            .expect("a beginning");
        Self { project, ids }
    }

    /// Makes an edit that must be taken.
    pub(crate) fn make(&mut self, edit: impl Into<Edit>) -> Edit {
        match self.project.apply(edit.into()) {
            Ok(inverse) => inverse,
            Err(refusal) => panic!("refused: {refusal}"),
        }
    }

    /// Makes an edit that must be refused, and leaves no trace.
    pub(crate) fn refused(&mut self, edit: impl Into<Edit>) -> Refusal {
        let (before, revision) = (self.project.clone(), self.project.revision());
        let edit = edit.into();
        let Err(refusal) = self.project.apply(edit.clone()) else {
            panic!("taken, but it must be refused: {edit:?}")
        };
        assert!(
            self.project == before && self.project.revision() == revision,
            "a refusal left a trace"
        );
        assert!(!refusal.what.is_empty() && !refusal.remedy.is_empty());
        refusal
    }

    pub(crate) fn add<R: Record>(&mut self, record: R) -> Id<R>
    where
        Change<R>: Into<Edit>,
    {
        let id = record.id();
        self.make(Edit::add(record));
        id
    }

    pub(crate) fn founder(&mut self, code: &str, sex: Option<Sex>) -> Id<Genotype> {
        let plant = Genotype {
            sex: sex.map(seen),
            ..Genotype::new(self.ids.next(), code, stated_origin())
        };
        self.add(plant)
    }

    pub(crate) fn seedling(&mut self, code: &str, origin: Origin) -> Id<Genotype> {
        let plant = Genotype::new(self.ids.next(), code, origin);
        self.add(plant)
    }

    pub(crate) fn cross(&mut self, code: &str, female: Id<Genotype>, pollen: Pollen) -> Id<Cross> {
        let cross = self.cross_record(code, female, pollen);
        self.add(cross)
    }

    pub(crate) fn cross_record(
        &mut self,
        code: &str,
        female: Id<Genotype>,
        pollen: Pollen,
    ) -> Cross {
        Cross {
            id: self.ids.next(),
            code: code.into(),
            female,
            pollen,
            season: 2026,
            planned_pollination: Some(day("2026-07-01")),
            seeds_wanted: None,
            purpose: String::new(),
            advised: None,
        }
    }

    /// A female, a male and a cross of the two.
    pub(crate) fn usual_cross(&mut self) -> (Id<Genotype>, Id<Genotype>, Id<Cross>) {
        let female = self.founder("Mother", Some(Sex::Female));
        let male = self.founder("Father", Some(Sex::Male));
        let cross = self.cross("26-01", female, Pollen::Male(male));
        (female, male, cross)
    }

    pub(crate) fn event_record(
        &mut self,
        cross: Id<Cross>,
        date: &str,
        what: CrossEventKind,
    ) -> CrossEvent {
        CrossEvent {
            id: self.ids.next(),
            cross,
            date: day(date),
            what,
            by: String::new(),
            remark: String::new(),
        }
    }

    pub(crate) fn event(
        &mut self,
        cross: Id<Cross>,
        date: &str,
        what: CrossEventKind,
    ) -> Id<CrossEvent> {
        let event = self.event_record(cross, date, what);
        self.add(event)
    }

    pub(crate) fn lot(&mut self, code: &str, seeds: u32) -> Id<SeedLot> {
        let source = LotSource::Bought {
            from: "a friend".into(),
            described_as: String::new(),
        };
        self.lot_of(code, source, seeds)
    }

    pub(crate) fn lot_of(&mut self, code: &str, source: LotSource, seeds: u32) -> Id<SeedLot> {
        let lot = SeedLot {
            id: self.ids.next(),
            code: code.into(),
            source,
            harvested: None,
            cleaned: None,
            amount: Some(SeedAmount::Counted(seeds)),
            place: String::new(),
            conditions: String::new(),
        };
        self.add(lot)
    }

    pub(crate) fn batch(&mut self, code: &str, start: &str, started: bool) -> Id<ChillBatch> {
        self.batch_under(code, start, started, Regimen::default())
    }

    pub(crate) fn batch_under(
        &mut self,
        code: &str,
        start: &str,
        started: bool,
        regimen: Regimen,
    ) -> Id<ChillBatch> {
        let batch = ChillBatch {
            id: self.ids.next(),
            code: code.into(),
            start: day(start),
            regimen,
            started,
            protocol: String::new(),
            sterilised: None,
            place: String::new(),
            ended: None,
        };
        self.add(batch)
    }

    pub(crate) fn box_record(
        &mut self,
        code: &str,
        batch: Id<ChillBatch>,
        lot: Id<SeedLot>,
        seeds: u32,
    ) -> ChillBox {
        ChillBox {
            id: self.ids.next(),
            code: code.into(),
            batch,
            lot,
            seeds,
            rechilled_from: None,
            place: String::new(),
            end: None,
        }
    }

    pub(crate) fn chill_box(
        &mut self,
        code: &str,
        batch: Id<ChillBatch>,
        lot: Id<SeedLot>,
        seeds: u32,
    ) -> Id<ChillBox> {
        let chill_box = self.box_record(code, batch, lot, seeds);
        self.add(chill_box)
    }

    /// A lot of 200 seeds, a batch in the cold since a day, and one box of 60.
    pub(crate) fn usual_box(&mut self, start: &str) -> (Id<SeedLot>, Id<ChillBatch>, Id<ChillBox>) {
        let lot = self.lot("Lot", 200);
        let batch = self.batch("Batch", start, true);
        let chill_box = self.chill_box("Box", batch, lot, 60);
        (lot, batch, chill_box)
    }

    pub(crate) fn check_record(&mut self, chill_box: Id<ChillBox>, date: &str) -> Check {
        Check::nothing_found(self.ids.next(), chill_box, day(date))
    }

    pub(crate) fn look(&mut self, chill_box: Id<ChillBox>, date: &str) -> Id<Check> {
        let check = self.check_record(chill_box, date);
        self.add(check)
    }

    pub(crate) fn warm(&mut self, chill_box: Id<ChillBox>, date: &str) -> Id<domain::Germination> {
        let edit = actions::warm(&[chill_box], day(date), &mut self.ids);
        self.make(edit);
        self.project.run_of(chill_box).expect("a run").id
    }

    pub(crate) fn count_record(
        &mut self,
        run: Id<domain::Germination>,
        date: &str,
        germinated: u32,
    ) -> domain::Count {
        domain::Count {
            id: self.ids.next(),
            run,
            date: day(date),
            germinated,
            abnormal: 0,
            dead: 0,
            lost: 0,
            by: String::new(),
            remark: String::new(),
        }
    }

    pub(crate) fn movement(
        &mut self,
        lot: Id<SeedLot>,
        date: &str,
        direction: MovementKind,
        seeds: u32,
    ) -> Movement {
        Movement {
            id: self.ids.next(),
            lot,
            date: day(date),
            direction,
            seeds,
            reason: String::new(),
        }
    }

    /// Scores a plant's vigour.
    pub(crate) fn score(&mut self, plant: Id<Genotype>, date: &str, value: f64) -> Edit {
        let vigour = self.project.traits().iter().next().expect("a trait").id;
        actions::score(
            &self.project,
            plant,
            vigour,
            day(date),
            value,
            &mut self.ids,
        )
    }
}

pub(crate) fn seen(sex: Sex) -> SexRecord {
    SexRecord {
        sex,
        basis: SexBasis::FlowersSeen,
        date: None,
    }
}

pub(crate) fn stated_origin() -> Origin {
    Origin::Founder {
        source: "old yard".into(),
        permission: "free".into(),
        protected: false,
        imported: false,
    }
}

pub(crate) fn box_end(date: &str, fate: BoxFate) -> BoxEnd {
    BoxEnd {
        date: day(date),
        fate,
        cause: String::new(),
    }
}
