// Package web is the pages: the student's phone on the green and the coach's
// desk. They are embedded, need no build step, load nothing from elsewhere, and
// use only the public API under /v1.
//
// How the pages are made is told in README.md beside this file.
package web
