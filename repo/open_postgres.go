package repo

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"
	"gorm.io/driver/postgres"
	"gorm.io/gorm"

	"fringework/migrations"
)

const pooled = 16

func (db *DB) openPostgres(ctx context.Context, c Config) error {
	config, err := pgx.ParseConfig(c.URL)
	if err != nil {
		return fmt.Errorf("repo: the database's URL cannot be read; write it as postgres://user@host/database")
	}
	if _, given := config.RuntimeParams["application_name"]; !given {
		config.RuntimeParams["application_name"] = "fringework"
	}
	if c.Relaxed {
		config.RuntimeParams["synchronous_commit"] = "off"
	}
	if db.observer != nil {
		config.Tracer = traced{db.observer}
	}
	pool := stdlib.OpenDB(*config)
	n := c.Connections
	if n < 1 {
		n = pooled
	}
	pool.SetMaxOpenConns(n)
	pool.SetMaxIdleConns(n)
	pool.SetConnMaxLifetime(30 * time.Minute)
	db.engine = migrations.Postgres
	db.closers = append(db.closers, pool.Close)
	ping, cancel := context.WithTimeout(ctx, db.timeout)
	defer cancel()
	if err := pool.PingContext(ping); err != nil {
		return fmt.Errorf("repo: no database at %s:%d/%s: %w", config.Host, config.Port, config.Database, err)
	}
	// pgx prepares statements itself, one cache for each connection.
	db.writer, err = gorm.Open(postgres.New(postgres.Config{Conn: pool, WithoutReturning: true}), db.gormConfig())
	if err != nil {
		return fmt.Errorf("repo: %w", err)
	}
	db.reader, db.config = db.writer, config
	db.tellLive()
	return refuseTexts(db.writer)
}
