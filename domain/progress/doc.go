// Package progress is what is kept of a student's practice, and how it follows
// from the sessions: what each session says about a skill, where the student
// stands, the milestones, and the habit of practising. It is kept in the
// transaction that stores a session, and can be derived again from the log.
package progress
