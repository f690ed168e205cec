package browser

import (
	"os"

	"fringework/integration/browser/chrome"
)

// judged runs every case of the case file through the page's own judge and lists
// where it differs.
const judged = `(async (cases) => {
	const base = document.querySelector("script[type=module]").src.replace(/green\/main\.js$/, "base/");
	const judge = await import(base + "judge.js");
	const differ = [];
	let ran = 0;
	const same = (name, got, want) => {
		ran++;
		if (JSON.stringify(got) !== JSON.stringify(want)) differ.push(name + ": got " + JSON.stringify(got) + ", want " + JSON.stringify(want));
	};
	for (const c of cases.runs) c.blocks.forEach((block, i) => {
		const balls = block.flatMap((b) => Array(b.times ?? 1).fill(b));
		const r = judge.ended(judge.read(balls, c.tier));
		const w = c.want[i];
		same(c.name + ", block " + (i + 1), [r.best, r.current, r.passedAt, r.inside, r.judged, r.unmeasured, r.near],
			[w.best, w.current, w.passed_at, w.inside, w.judged, w.unmeasured, w.near]);
	});
	for (const c of cases.balls) same(c.name, judge.wrong(c.ball, c.ball.radius_m), c.at);
	for (const c of cases.kinds) same(JSON.stringify(c), judge.counts(c, c.kind), c.counts);
	return { differ, ran };
})`

// judgesAlike holds the page's judge to the case file that domain/streak is held
// to.
func judgesAlike(p *page) {
	p.s.t.Helper()
	cases, err := os.ReadFile("../../domain/streak/testdata/cases.json")
	p.s.must(err)
	got, err := chrome.Eval[struct {
		Differ []string
		Ran    int
	}](p.Tab, judged+"("+string(cases)+")")
	p.s.must(err)
	for _, d := range got.Differ {
		p.s.t.Error(d)
	}
	if got.Ran < 58 {
		p.s.t.Errorf("%d cases were run; the case file has at least 58", got.Ran)
	}
}

// drawsAlike holds the phone's lots of quiet tests to those that domain/curriculum is
// held to.
func drawsAlike(p *page) {
	p.s.t.Helper()
	lots, err := os.ReadFile("../../domain/curriculum/testdata/lots.json")
	p.s.must(err)
	same, err := chrome.Eval[int](p.Tab, `(async (lots) => {
		const { hidden } = await import(document.querySelector("script[type=module]").src.replace("main.js", "cold.js"));
		return lots.filter((l) => hidden(l.session, l.block) === l.hidden).length;
	})(`+string(lots)+")")
	p.s.must(err)
	if want := 12; same != want {
		p.s.t.Errorf("%d of %d lots are the same", same, want)
	}
}

// dealsAlike holds the phone's cards of matches to those that domain/curriculum is held
// to.
func dealsAlike(p *page) {
	p.s.t.Helper()
	cases, err := os.ReadFile("../../domain/curriculum/testdata/matches.json")
	p.s.must(err)
	same, err := chrome.Eval[int](p.Tab, `(async (cases) => {
		const { cardsOf, codeOf, idOf, tasksOf } = await import(document.querySelector("script[type=module]").src.replace(/green\/main\.js$/, "base/cards.js"));
		return cases.filter((c) => {
			const tasks = tasksOf(c.kind).map((t) => JSON.stringify(t));
			const cards = cardsOf(c).map((t) => tasks.indexOf(JSON.stringify(t)));
			return JSON.stringify([codeOf(c), idOf(c), cards]) === JSON.stringify([c.code, c.id, c.cards]);
		}).length;
	})(`+string(cases)+")")
	p.s.must(err)
	if want := 9; same != want {
		p.s.t.Errorf("%d of %d matches are dealt the same", same, want)
	}
}
