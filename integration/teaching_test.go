package integration_test

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"strings"
	"testing"
	"time"

	"fringework/api"
	"fringework/domain"
)

func lessonPath(id domain.ID) string { return "/v1/lessons/" + string(id) }

// aPhoto is a small JPEG.
var aPhoto = func() string {
	img := image.NewRGBA(image.Rect(0, 0, 40, 30))
	for i := range 40 {
		img.SetRGBA(i, i*3/4, color.RGBA{200, 30, 30, 255})
	}
	var out bytes.Buffer
	if err := jpeg.Encode(&out, img, nil); err != nil {
		panic(err)
	}
	return out.String()
}()

// asPhoto says what is sent.
var asPhoto = header("Content-Type", "image/jpeg")

// lessonBody is a lesson with a cue.
func lessonBody(at time.Time, cue string) object {
	return object{"starts_at": at, "minutes": 45, "cue": cue, "drill": "Ten balls between two tees.", "notes": "Weight stays back."}
}

// planLesson plans a lesson of a student.
func (p *person) planLesson(student *person, at time.Time) domain.ID {
	p.Helper()
	return made[api.LessonList](p.caller, "/v1/lessons", object{"student_ids": []domain.ID{student.id}, "starts_at": at, "minutes": 45}).Items[0].ID
}

// photograph keeps a photo with a lesson for 30 days.
func (p *person) photograph(lesson domain.ID) domain.ID {
	p.Helper()
	var m api.LessonMedia
	p.post(lessonPath(lesson)+"/media?days=30", aPhoto, asPhoto).want(201).into(&m)
	return m.ID
}

// A lesson is planned, prepared and written, and the student takes the cue along.
func testLesson(t *testing.T, s *service) {
	a := s.open(t, "Lessingham")
	coach, student := a.coach.in(t), a.student.in(t)
	skill := a.owner.in(t).skill("Pitch", pitchSteps()).ID
	coach.assign(coach.publish(course("Course", skill)), ago(300), student)
	student.store(newID(), sessionBody(1, ago(200), test(skill, in(6))), 201)
	first := coach.planLesson(student, ago(100))
	coach.put(lessonPath(first), lessonBody(ago(100), "Brush the grass")).want(200)
	played := sessionBody(1, ago(50), test(skill, in(9)))
	played["note"] = "Everything ran out."
	student.store(newID(), played, 201)
	second := coach.planLesson(student, ago(2))

	p := read[api.LessonPreparation](coach.caller, lessonPath(second)+"/preparation")
	if p.Previous == nil || p.Previous.Cue != "Brush the grass" || p.Practice.Sessions != 1 || p.Practice.Balls != 9 || len(p.Written) != 1 || p.Written[0].Text != "Everything ran out." {
		t.Errorf("prepared %+v", p)
	}
	if len(p.Skills) != 1 || p.Skills[0].Before == nil || p.Skills[0].Now == nil || p.Skills[0].Before.Mean >= p.Skills[0].Now.Mean || p.Skills[0].Practice.Balls != 9 {
		t.Errorf("the skills are %+v", p.Skills)
	}
	next := coach.planLesson(student, time.Now().AddDate(0, 0, 40))
	coach.put(lessonPath(next), lessonBody(time.Now().AddDate(0, 0, 40), "Not yet")).want(200)
	seen := read[api.LessonPage](student.caller, "/v1/lessons")
	if len(seen.Items) != 3 || seen.Items[0].Cue != "" || seen.Items[2].Cue != "Brush the grass" || seen.Items[2].Notes != "" || seen.Items[2].Drill == "" {
		t.Errorf("the student reads %+v", seen.Items)
	}
	if all := read[api.LessonPage](coach.caller, "/v1/lessons?limit=2"); all.Items[0].Cue != "Not yet" || all.Items[0].Notes == "" || all.Links.Next == "" ||
		len(read[api.LessonPage](coach.caller, all.Links.Next).Items) != 1 {
		t.Errorf("the coach reads %+v", all)
	}
	read1 := coach.get(lessonPath(second)).want(200)
	coach.put(lessonPath(second), lessonBody(ago(2), "Soft hands")).want(200)
	coach.put(lessonPath(second), lessonBody(ago(2), "Late"), header("If-Match", read1.header.Get("ETag"))).problem(412, "stale")
	wrongAt(t, coach.put(lessonPath(second), lessonBody(ago(2), "Two\nlines")).problem(422, "lesson_invalid"), "/cue", "one line")
	wrongAt(t, coach.post("/v1/lessons", object{"student_ids": []domain.ID{student.id, student.id}, "starts_at": ago(2)}).problem(422, "lesson_invalid"), "/student_ids", "name each once")
	testLessonMedia(t, a, second)
	coach.del(lessonPath(second)).want(204)
	student.get(lessonPath(second)).problem(404, "not_found")
}

// testLessonMedia keeps a photo, hands it out with safe headers, and forgets it.
func testLessonMedia(t *testing.T, a academy, lesson domain.ID) {
	coach, student, guardian := a.coach.in(t), a.student.in(t), a.guardian.in(t)
	media := lessonPath(lesson) + "/media"
	consent := "/v1/students/" + string(student.id) + "/consent"
	p := coach.post(media+"?days=30", aPhoto, asPhoto).problem(409, "media_not_agreed") // the student is a junior
	if !strings.Contains(p.Detail, "Ask the guardian") {
		t.Errorf("the refusal says %q", p.Detail)
	}
	var m api.Member
	guardian.put(consent, object{"given": true, "media": true}).want(200).into(&m)
	if m.MediaAt == nil {
		t.Error("nobody agreed")
	}
	photo := media + "/" + string(coach.photograph(lesson))
	got := student.get(photo).want(200)
	if h := got.header; h.Get("Content-Type") != "image/jpeg" || h.Get("X-Content-Type-Options") != "nosniff" ||
		!strings.Contains(h.Get("Content-Security-Policy"), "sandbox") || !bytes.HasPrefix(got.body, []byte("\xff\xd8")) {
		t.Errorf("the photo came as %v", h)
	}
	if part := student.get(photo, header("Range", "bytes=2-9")).want(206); string(part.body) != string(got.body[2:10]) {
		t.Errorf("a part is %q, want %q", part.body, got.body[2:10])
	}
	student.get(photo, header("If-None-Match", got.header.Get("ETag"))).want(304)
	if use := read[api.MediaUse](coach.caller, "/v1/academy/media"); use.Count != 1 || use.Bytes != int64(len(got.body)) || use.LimitBytes == 0 {
		t.Errorf("use is %+v", use)
	}
	coach.post(media+"?days=30", "<svg onload='alert(1)'/>", asPhoto).problem(422, "media_invalid")
	coach.post(media+"?days=30", aPhoto[:len(aPhoto)/3], asPhoto).problem(422, "media_invalid")
	coach.post(media, aPhoto, asPhoto).problem(400, "parameter_invalid")
	coach.post(media+"?days=30", aPhoto, header("Content-Type", "text/html")).problem(415, "media_type")
	coach.post(media+"?days=30", strings.Repeat("x", 9<<20), asPhoto).problem(413, "body_too_large")

	guardian.put(consent, object{"given": true, "media": false}).want(200)
	coach.get(photo).problem(404, "not_found")
	guardian.put(consent, object{"given": true, "media": true}).want(200)
	guardian.get(photo).want(200)
	guardian.del(photo).want(204)
	student.get(photo).problem(404, "not_found")
}
