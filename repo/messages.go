package repo

import (
	"context"

	"fringework/domain"
	"fringework/domain/academy"
)

type messageRow struct {
	AcademyID domain.ID
	StudentID domain.ID
	ID        domain.ID
	AuthorID  domain.ID
	Text      string
	At        int64
}

// TableName names the table.
func (messageRow) TableName() string { return "messages" }

func (r messageRow) message() academy.Message {
	return academy.Message{ID: r.ID, Student: r.StudentID, Author: r.AuthorID, Text: r.Text, At: instant(r.At)}
}

type messageReadRow struct {
	AcademyID domain.ID
	StudentID domain.ID
	MemberID  domain.ID
	ReadTo    domain.ID
	Marks     int
}

// TableName names the table.
func (messageReadRow) TableName() string { return "message_reads" }

// AddMessage implements academy.MessageStore.
func (s messageStore) AddMessage(ctx context.Context, m academy.Message) error {
	return s.insert(ctx, &messageRow{AcademyID: s.id, StudentID: m.Student, ID: m.ID, AuthorID: m.Author, Text: m.Text, At: at(m.At)}, 1, "student")
}

// Messages implements academy.MessageStore.
func (s messageStore) Messages(ctx context.Context, student domain.ID, page domain.Page) ([]academy.Message, error) {
	q := s.forStudent(ctx, student).Order("id DESC").Limit(page.Limit)
	if page.After != "" {
		q = q.Where("id < ?", page.After)
	}
	var rows []messageRow
	if err := q.Find(&rows).Error; err != nil {
		return nil, fail(err, "student")
	}
	return each(rows, messageRow.message), nil
}

// ReadTo implements academy.MessageStore.
func (s messageStore) ReadTo(ctx context.Context, member, student domain.ID) (domain.ID, error) {
	var rows []messageReadRow
	err := s.forStudent(ctx, student).Where("member_id = ?", member).Limit(1).Find(&rows).Error
	if err != nil || len(rows) == 0 {
		return "", fail(err, "student")
	}
	return rows[0].ReadTo, nil
}

// SaveReadTo implements academy.MessageStore.
func (s messageStore) SaveReadTo(ctx context.Context, member, student, message domain.ID) error {
	return s.batch(ctx, query{
		sql: "INSERT INTO message_reads (academy_id, student_id, member_id, read_to, marks) VALUES (?, ?, ?, ?, 1)" +
			" ON CONFLICT (academy_id, student_id, member_id) DO UPDATE SET read_to = excluded.read_to, marks = message_reads.marks + 1",
		args: []any{s.id, student, member, message}, what: "student",
	})
}

// threads tells whose messages are new.
type threads struct{ *scope }

// UnreadThreads implements academy.MessageStore. Replies call those who coach the
// student or have read the thread before; of a student without a coach, everybody
// who may see them.
func (s threads) UnreadThreads(ctx context.Context, member domain.ID) ([]academy.UnreadThread, error) {
	const coached = "EXISTS (SELECT 1 FROM coach_links l JOIN members c ON c.academy_id = l.academy_id AND c.id = l.coach_id" +
		" WHERE l.academy_id = m.academy_id AND l.student_id = m.student_id AND c.removed_at IS NULL"
	var rows []struct {
		StudentID domain.ID
		Messages  int
		LastAt    int64
	}
	err := on(ctx, s.tx).Raw("SELECT m.student_id, COUNT(*) AS messages, MAX(m.at) AS last_at FROM messages m"+
		" LEFT JOIN message_reads r ON r.academy_id = m.academy_id AND r.student_id = m.student_id AND r.member_id = ?"+
		" WHERE m.academy_id = ? AND m.author_id = m.student_id AND (r.read_to IS NULL OR m.id > r.read_to)"+
		" AND (r.read_to IS NOT NULL OR "+coached+" AND c.id = ?) OR NOT "+coached+"))"+
		" GROUP BY m.student_id ORDER BY m.student_id", member, s.id, member).Scan(&rows).Error
	if err != nil {
		return nil, fail(err, "member")
	}
	var threads []academy.UnreadThread
	for _, r := range rows {
		threads = append(threads, academy.UnreadThread{Student: r.StudentID, Messages: r.Messages, LastAt: instant(r.LastAt)})
	}
	return threads, nil
}
