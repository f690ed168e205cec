//go:build linux

package main

import (
	"context"
	"database/sql"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"strings"

	_ "github.com/jackc/pgx/v5/stdlib"
	"github.com/labstack/echo/v4"
	_ "modernc.org/sqlite"
)

// The barest handlers that could be: the service's router and drivers, the same
// durability, and one prepared statement a request.
type barest struct {
	insert, find *sql.Stmt
}

const barestPragmas = "?_pragma=busy_timeout(5000)&_pragma=journal_mode(WAL)&_pragma=synchronous(FULL)&_pragma=foreign_keys(1)&_txlock=immediate"

// openBarest opens the pools as the service does: one connection that writes
// and four that read an SQLite file, sixteen of PostgreSQL.
func openBarest(database string) (writer, reader *sql.DB, err error) {
	path, embedded := strings.CutPrefix(database, "sqlite:")
	if !embedded {
		if writer, err = sql.Open("pgx", database); err == nil {
			writer.SetMaxOpenConns(16)
			writer.SetMaxIdleConns(16)
		}
		return writer, writer, err
	}
	if writer, err = sql.Open("sqlite", "file:"+path+barestPragmas); err != nil {
		return nil, nil, err
	}
	writer.SetMaxOpenConns(1)
	if reader, err = sql.Open("sqlite", "file:"+path+"?_pragma=busy_timeout(5000)&_pragma=query_only(1)"); err != nil {
		return nil, nil, err
	}
	reader.SetMaxOpenConns(4)
	reader.SetMaxIdleConns(4)
	return writer, reader, nil
}

func serveBarest(ctx context.Context, database string) error {
	writer, reader, err := openBarest(database)
	if err != nil {
		return err
	}
	defer writer.Close()
	defer reader.Close()
	kind, first, second := "bytea", "$1", "$2"
	if strings.HasPrefix(database, "sqlite:") {
		kind, first, second = "blob", "?", "?"
	}
	if _, err := writer.ExecContext(ctx, "CREATE TABLE bodies (id text PRIMARY KEY, body "+kind+" NOT NULL)"); err != nil {
		return err
	}
	var b barest
	if b.insert, err = writer.PrepareContext(ctx, fmt.Sprintf("INSERT INTO bodies (id, body) VALUES (%s, %s)", first, second)); err != nil {
		return err
	}
	if b.find, err = reader.PrepareContext(ctx, "SELECT body FROM bodies WHERE id = "+first); err != nil {
		return err
	}
	e := echo.New()
	e.HideBanner, e.HidePort = true, true
	e.PUT("/bodies/:id", b.put)
	e.GET("/bodies/:id", b.get)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return err
	}
	slog.New(slog.NewTextHandler(os.Stderr, nil)).Info("serving", "address", l.Addr().String())
	server := &http.Server{Handler: e}
	go func() {
		<-ctx.Done()
		server.Close()
	}()
	if err := server.Serve(l); ctx.Err() == nil {
		return err
	}
	return nil
}

func (b *barest) put(c echo.Context) error {
	body, err := io.ReadAll(c.Request().Body)
	if err != nil {
		return err
	}
	if _, err := b.insert.ExecContext(c.Request().Context(), c.Param("id"), body); err != nil {
		return err
	}
	return c.NoContent(http.StatusCreated)
}

func (b *barest) get(c echo.Context) error {
	var body []byte
	if err := b.find.QueryRowContext(c.Request().Context(), c.Param("id")).Scan(&body); err != nil {
		return err
	}
	return c.Blob(http.StatusOK, echo.MIMEApplicationJSON, body)
}
