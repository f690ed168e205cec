package browser

import (
	"os"
	"testing"

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

// TestJudge holds the page's judge to the case file that domain/streak is held
// to.
func TestJudge(t *testing.T) {
	cases, err := os.ReadFile("../../domain/streak/testdata/cases.json")
	if err != nil {
		t.Fatal(err)
	}
	s := newSetup(t)
	p := s.laptop()
	p.open("/green")
	p.see("E-mail")
	got, err := chrome.Eval[struct {
		Differ []string
		Ran    int
	}](p.Tab, judged+"("+string(cases)+")")
	s.must(err)
	for _, d := range got.Differ {
		t.Error(d)
	}
	if got.Ran < 58 {
		t.Errorf("%d cases were run; the case file has at least 58", got.Ran)
	}
}

// TestLots holds the phone's lots of quiet tests to those that domain/curriculum is
// held to.
func TestLots(t *testing.T) {
	lots, err := os.ReadFile("../../domain/curriculum/testdata/lots.json")
	if err != nil {
		t.Fatal(err)
	}
	s := newSetup(t)
	p := s.laptop()
	p.open("/green")
	p.see("E-mail")
	same, err := chrome.Eval[int](p.Tab, `(async (lots) => {
		const { hidden } = await import(document.querySelector("script[type=module]").src.replace("main.js", "cold.js"));
		return lots.filter((l) => hidden(l.session, l.block) === l.hidden).length;
	})(`+string(lots)+")")
	s.must(err)
	if want := 12; same != want {
		t.Errorf("%d of %d lots are the same", same, want)
	}
}
