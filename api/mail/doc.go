// Package mail writes letters in words, for people, and sends them by SMTP.
package mail
