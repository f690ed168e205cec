package practice_test

import (
	"reflect"
	"strings"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/domaintest"
)

// TestTalk: a reply stands under what it answers, edits show, and what was answered
// is taken back without a gap.
func TestTalk(t *testing.T) {
	h := open(t)
	h.put(ada, session("s", 1))
	asAda, coach := ada, domaintest.AsCoach
	said := must(h.s.Comment(ctx, coach, "s", "Nice tempo."))(t)
	reply := must(h.s.Reply(ctx, asAda, "s", said.ID, "Thanks. More tomorrow?"))(t)
	if reply.ReplyTo != said.ID || reply.AuthorName != "Ada" {
		t.Errorf("the reply is %+v", reply)
	}
	wantLast(t, h, asAda, "comment.made", "s", domaintest.AdaID, map[string]any{"comment_id": reply.ID, "reply_to": said.ID})
	if second := must(h.s.Reply(ctx, coach, "s", reply.ID, "Yes."))(t); second.ReplyTo != said.ID {
		t.Errorf("a reply to a reply answers %s, want %s", second.ReplyTo, said.ID)
	}
	wantError(t, "to what is not there", failure(h.s.Reply(ctx, asAda, "s", "none", "Hm")), domain.NotFound, "not_found", nil)
	wantError(t, "under another's", failure(h.s.Reply(ctx, domaintest.AsBen, "s", said.ID, "Hm")), domain.NotFound, "not_found", nil)
	wantError(t, "empty", failure(h.s.Reply(ctx, asAda, "s", said.ID, " ")), domain.Invalid, "comment_invalid", nil)

	h.mem.Pass(time.Hour)
	edited := must(h.s.EditComment(ctx, coach, "s", said.ID, "Fine tempo."))(t)
	if edited.Text != "Fine tempo." || !edited.EditedAt.Equal(h.mem.Now()) || edited.AuthorName == "" || !edited.At.Equal(said.At) {
		t.Errorf("edited: %+v", edited)
	}
	wantLast(t, h, coach, "comment.edited", "s", domaintest.AdaID, map[string]any{"comment_id": said.ID})
	h.mem.Pass(time.Hour)
	if again := must(h.s.EditComment(ctx, coach, "s", said.ID, "Fine tempo."))(t); again != edited {
		t.Errorf("the same words anew: %+v", again)
	}
	wantError(t, "too long", failure(h.s.EditComment(ctx, coach, "s", said.ID, strings.Repeat("x", 4001))), domain.Invalid, "comment_invalid", nil)
	wantError(t, "another's words", failure(h.s.EditComment(ctx, domaintest.AsOwner, "s", said.ID, "Mine")), domain.Forbidden, "not_yours", nil)
	wantError(t, "deleting another's", h.s.DeleteComment(ctx, asAda, "s", said.ID), domain.Forbidden, "not_yours", nil)
	wantError(t, "a stranger", h.s.DeleteComment(ctx, domaintest.AsOther, "s", said.ID), domain.NotFound, "not_found", nil)

	must(0, h.s.DeleteComment(ctx, coach, "s", said.ID))(t)
	wantLast(t, h, coach, "comment.deleted", "s", domaintest.AdaID, map[string]any{"comment_id": said.ID})
	must(0, h.s.DeleteComment(ctx, coach, "s", said.ID))(t)
	wantError(t, "editing what is deleted", failure(h.s.EditComment(ctx, coach, "s", said.ID, "Back")), domain.Conflict, "comment_deleted", nil)
	wantError(t, "answering it", failure(h.s.Reply(ctx, asAda, "s", said.ID, "?")), domain.Conflict, "comment_deleted", nil)
	must(0, h.s.DeleteComment(ctx, asAda, "s", reply.ID))(t)
	left := must(h.s.Comments(ctx, asAda, "s"))(t)
	if len(left) != 2 || left[0].Text != "" || left[0].DeletedAt.IsZero() || !left[0].EditedAt.IsZero() || left[1].Text != "Yes." {
		t.Errorf("left: %+v", left)
	}
	wantError(t, "once gone", h.s.DeleteComment(ctx, asAda, "s", reply.ID), domain.NotFound, "not_found", nil)
	third := must(h.s.Comment(ctx, coach, "s", "Another."))(t)
	for what, do := range map[string]func() error{
		"Reply":         func() error { return failure(h.s.Reply(ctx, asAda, "s", third.ID, "Hm")) },
		"EditComment":   func() error { return failure(h.s.EditComment(ctx, coach, "s", third.ID, "New "+h.mem.Now().String())) },
		"DeleteComment": func() error { return h.s.DeleteComment(ctx, coach, "s", third.ID) },
		"deleting what was answered": func() error {
			return h.s.DeleteComment(ctx, coach, "s", left[1].ID)
		},
	} {
		if err := domaintest.EveryFault(t, h.mem, domaintest.Hollow, do); err != nil {
			t.Errorf("%s: %v", what, err)
		}
	}
}

// wantLast checks the last event of the log.
func wantLast(t *testing.T, h *fixture, a domain.Actor, kind string, subject, student domain.ID, data map[string]any) {
	t.Helper()
	events := h.mem.Events(domaintest.Hollow)
	last := events[len(events)-1]
	if last.Actor != a.Member || last.Kind != kind || last.Subject != subject || last.Student != student || !reflect.DeepEqual(last.Data, data) {
		t.Errorf("last event: %+v, want %s of %s with %v", last, kind, subject, data)
	}
}
