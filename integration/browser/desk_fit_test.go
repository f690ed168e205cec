package browser

import "testing"

// drillTexts are the texts of the drills of a week, as the service has them.
func (s *setup) drillTexts(id string, week int) (texts []string) {
	s.t.Helper()
	var p struct {
		Draft struct {
			Weeks []struct {
				Plans []struct {
					Blocks []struct {
						Drill struct {
							Text string `json:"text"`
						} `json:"drill"`
					} `json:"blocks"`
				} `json:"plans"`
			} `json:"weeks"`
		} `json:"draft"`
	}
	s.call(s.Owner, "GET", "/v1/programmes/"+id, nil, &p)
	for _, b := range p.Draft.Weeks[week].Plans[0].Blocks {
		texts = append(texts, b.Drill.Text)
	}
	return texts
}

// TestDrillsFollowTheSkill writes weeks in which the drills are the skill's, except
// for what the coach wrote.
func TestDrillsFollowTheSkill(t *testing.T) {
	s := newSetup(t)
	p := s.laptop()
	p.signInDesk(s.OwnerEmail)
	p.place("#/skill/" + s.ChipID)
	p.see("New blocks start with these")
	p.press("Test: ")
	p.fill("Clubs", "7 iron")
	p.see("Your own")
	p.press("Save the skill")
	p.see("Saved.")

	p.place("#/programmes")
	p.fill("Name", "Two skills")
	p.press("Pitch to a landing spot", "Begin")
	p.heading("Two skills")
	p.see("Ready to publish")
	p.choose("Skill", "Chip and run")
	p.see("Fitted 4 drills to Chip and run.", "with 7 iron")
	p.press("Drill: ")
	p.fill("What the student does", "My own words.")
	p.see("Drill: inside 5 ft")
	p.choose("Skill", "Pitch")
	p.see("Fitted 4 drills to Pitch to a landing spot; your own text in block 1 stays.")
	p.press("Copy for another skill")
	p.see("Copy week 1 for another skill")
	p.press("Chip and run")
	p.see("Week 2 is for Chip and run: 4 drills fitted.")
	p.wait("the new week open, in view and with the focus", `(() => {
		const at = document.activeElement.closest("details.week");
		const top = at?.getBoundingClientRect().top;
		return at?.dataset.at === "/weeks/1" && at.open && top >= 0 && top < innerHeight;
	})()`)
	p.see("Saved.")
	id := p.value(`location.hash.split("/")[2]`)
	if texts := s.drillTexts(id, 0); texts[0] != "My own words." || texts[1] == "" {
		t.Errorf("week 1 has the drills %q, want the coach's words and the skill's", texts)
	}
	if texts := s.drillTexts(id, 1); texts[0] == "My own words." || texts[0] == "" {
		t.Errorf("week 2 has the drills %q, want the skill's", texts)
	}

	p.press("Undo")
	p.see("Undone: week 2, week.")
	p.press("Undo")
	p.see("Undone: 1")
	p.press("Add a week")
	p.see("What does week 2 train?")
	p.press("Pitch to a landing spot")
	p.see("Week 2 added for Pitch to a landing spot, in four equal parts.")
	p.press("Undo")
	p.see("Saved.")
}
