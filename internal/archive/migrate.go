package archive

import (
	"context"
	"database/sql"
	"embed"
	"fmt"
)

//go:embed migrations/*.sql
var migrations embed.FS

// migrationNames lists the embedded steps in order: the first makes version 1 of
// an empty file, the n-th leads from version n-1 to n. The newest version is
// their number.
func migrationNames() []string {
	entries, err := migrations.ReadDir("migrations")
	if err != nil {
		return nil // cannot happen: it is embedded
	}
	names := make([]string, len(entries))
	for i, e := range entries {
		names[i] = "migrations/" + e.Name()
	}
	return names
}

// migrate leads the file to the newest version, each step in its own transaction
// together with its new number: a program killed meanwhile leaves one version or
// the next. Two programs at once wait for each other, and the second finds
// nothing left to do.
func migrate(ctx context.Context, db *sql.DB, path string) error {
	for {
		version, err := userVersion(ctx, db)
		if err != nil {
			return explain(path, err)
		}
		if err := checkVersion(path, version); err != nil {
			return err
		}
		if version == len(migrationNames()) {
			return nil
		}
		if err := migrateOnce(ctx, db, version); err != nil {
			return explain(path, fmt.Errorf("leading the archive from format %d to %d: %w", version, version+1, err))
		}
	}
}

func migrateOnce(ctx context.Context, db *sql.DB, from int) error {
	step, err := migrations.ReadFile(migrationNames()[from])
	if err != nil {
		return err
	}
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback()
	var now int
	if err := tx.QueryRowContext(ctx, "PRAGMA user_version").Scan(&now); err != nil {
		return err
	}
	if now != from {
		return nil // another program was faster
	}
	if _, err := tx.ExecContext(ctx, string(step)); err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, fmt.Sprintf("PRAGMA user_version = %d", from+1)); err != nil {
		return err
	}
	return tx.Commit()
}

func userVersion(ctx context.Context, db *sql.DB) (version int, err error) {
	err = db.QueryRowContext(ctx, "PRAGMA user_version").Scan(&version)
	return version, err
}
