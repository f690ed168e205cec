package progress

import (
	"cmp"
	"maps"
	"slices"
	"strconv"
	"time"

	"fringework/domain"
	"fringework/domain/estimate"
)

// How far back an academy's insights reach, in periods. Skills are compared over
// the last few alone: over a year the harder circle is played by the better
// student that somebody has become.
const (
	InsightPeriods    = 12
	DifficultyPeriods = 3
)

// CircleCount is balls judged at one circle.
type CircleCount struct {
	Radius domain.Length
	// Balls are all that were judged, whatever came of them; Inside of them
	// inside.
	Balls, Inside int
}

// Circle gives the balls of the session at the circle that most of them tell of,
// the smaller of two; ok is false without balls. None is chosen by what came of
// it: one without a leave counts in the circle that it was judged in. A ball is in
// only one count, so that none is taken for two.
func (s SessionSummary) Circle() (c CircleCount, ok bool) {
	take := func(radius domain.Length, balls, inside int) {
		if balls > c.Balls || balls == c.Balls && radius < c.Radius {
			c, ok = CircleCount{Radius: radius, Balls: balls, Inside: inside}, true
		}
	}
	for _, r := range s.Results {
		o := r.Observation()
		take(r.Tier.Radius, o.Balls, o.Inside)
		for _, e := range o.Elsewhere {
			take(e.Radius, e.Balls, e.Inside)
		}
	}
	return c, ok
}

// SkillCourse is what one student did at one skill, oldest first.
type SkillCourse struct {
	Student, Skill domain.ID
	Sessions       []CircleSession
}

// CircleSession is one session, without balls where none tell of a circle.
type CircleSession struct {
	At time.Time
	CircleCount
}

// Courses gathers courses from periods.
type Courses []SkillCourse

// Add adds a period. Periods come by student, then by skill, then oldest first.
func (c *Courses) Add(p Period) {
	last := len(*c) - 1
	if last < 0 || (*c)[last].Student != p.Student || (*c)[last].Skill != p.Skill {
		*c = append(*c, SkillCourse{Student: p.Student, Skill: p.Skill})
		last++
	}
	for _, s := range p.Sessions {
		count, _ := s.Circle()
		(*c)[last].Sessions = append((*c)[last].Sessions, CircleSession{At: s.StartedAt, CircleCount: count})
	}
}

// Insight is what an academy's students teach about one skill.
type Insight struct {
	Skill domain.ID
	// Circles are the skill at each circle, smallest first, compared with all
	// skills and circles of the academy.
	Circles []CircleInsight
	// Levels are of the students who played the skill lately, as far as told, by
	// identity.
	Levels []estimate.StudentLevel
	Fade   estimate.Fade
}

// CircleInsight is a skill at one circle; its Drill is empty.
type CircleInsight struct {
	Radius domain.Length
	estimate.DrillDifficulty
}

// drill is what difficulties are told of.
type drill struct {
	skill  domain.ID
	radius domain.Length
}

func (d drill) name() string { return string(d.skill) + " " + strconv.Itoa(int(d.radius)) }

// LearnInsights learns from the courses of an academy, as of an instant, about
// every skill in them, by identity.
func LearnInsights(courses []SkillCourse, now time.Time) []Insight {
	bySkill := map[domain.ID]*Insight{}
	fades := map[domain.ID][]estimate.FadeCourse{}
	for _, c := range courses {
		if bySkill[c.Skill] == nil {
			bySkill[c.Skill] = &Insight{Skill: c.Skill}
		}
		fades[c.Skill] = append(fades[c.Skill], c.byCircle()...)
	}
	compare(courses, now, bySkill)
	insights := make([]Insight, 0, len(bySkill))
	for _, skill := range slices.Sorted(maps.Keys(bySkill)) {
		i := bySkill[skill]
		i.Fade = estimate.FadeOf(fades[skill][:min(len(fades[skill]), estimate.MaxFadeCourses)])
		insights = append(insights, *i)
	}
	return insights
}

// compare puts all skills and circles on one scale.
func compare(courses []SkillCourse, now time.Time, bySkill map[domain.ID]*Insight) {
	since := PeriodOf(now) - DifficultyPeriods + 1
	type result struct {
		student domain.ID
		drill
		CircleCount
	}
	var all []result
	balls := map[drill]int{}
	for _, c := range courses {
		for _, s := range c.Sessions {
			if s.Balls > 0 && PeriodOf(s.At) >= since {
				d := drill{c.Skill, s.Radius}
				all = append(all, result{c.Student, d, s.CircleCount})
				balls[d] += s.Balls
			}
		}
	}
	drills := slices.SortedFunc(maps.Keys(balls), func(a, b drill) int {
		return cmp.Or(cmp.Compare(balls[b], balls[a]), cmp.Compare(a.skill, b.skill), cmp.Compare(a.radius, b.radius))
	})
	byName := map[string]drill{}
	for _, d := range drills[:min(len(drills), estimate.MaxDrills)] {
		byName[d.name()] = d
	}
	results := make([]estimate.DrillResult, 0, len(all))
	played := map[domain.ID][]domain.ID{}
	for _, r := range all {
		if _, ok := byName[r.name()]; ok {
			results = append(results, estimate.DrillResult{Student: string(r.student), Drill: r.name(), Balls: r.Balls, Inside: r.Inside})
			if of := played[r.student]; !slices.Contains(of, r.skill) {
				played[r.student] = append(of, r.skill)
			}
		}
	}
	got := estimate.DifficultyOf(results)
	for _, told := range got.Drills {
		d := byName[told.Drill]
		told.Drill = ""
		bySkill[d.skill].Circles = append(bySkill[d.skill].Circles, CircleInsight{Radius: d.radius, DrillDifficulty: told})
	}
	for _, i := range bySkill {
		slices.SortFunc(i.Circles, func(a, b CircleInsight) int { return cmp.Compare(a.Radius, b.Radius) })
	}
	for _, level := range got.Students {
		if level.CannotTell != "" {
			continue
		}
		for _, skill := range played[domain.ID(level.Student)] {
			bySkill[skill].Levels = append(bySkill[skill].Levels, level)
		}
	}
}

// byCircle gives a course for every circle. Sessions at other circles are in it
// without balls, since they end a break as well.
func (c SkillCourse) byCircle() []estimate.FadeCourse {
	var radii []domain.Length
	for _, s := range c.Sessions {
		if s.Balls > 0 && !slices.Contains(radii, s.Radius) {
			radii = append(radii, s.Radius)
		}
	}
	courses := make([]estimate.FadeCourse, len(radii))
	for i, radius := range radii {
		sessions := make([]estimate.FadeSession, len(c.Sessions))
		for j, s := range c.Sessions {
			sessions[j].Day = s.At.Sub(c.Sessions[0].At).Hours() / 24
			if s.Radius == radius {
				sessions[j].Balls, sessions[j].Inside = s.Balls, s.Inside
			}
		}
		courses[i] = estimate.FadeCourse{Student: string(c.Student), Sessions: sessions}
	}
	return courses
}
