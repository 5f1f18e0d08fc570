#!/bin/sh
# The entry of the Postgres image that .ci/images/build makes: as much of what the public image's does as is used here.
# POSTGRES_PASSWORD (required), POSTGRES_DB, POSTGRES_INITDB_ARGS and PGDATA mean the same. Anything but a server is run
# as it is.
set -eu
[ "${1:-postgres}" = postgres ] || exec "$@"
export PGDATA="${PGDATA:-/var/lib/postgresql/data}"
if [ "$(id -u)" = 0 ]; then
	mkdir -p "$PGDATA"
	chmod 700 "$PGDATA"
	chown -R postgres "$PGDATA"
	exec setpriv --reuid=postgres --regid=postgres --init-groups "$0" "$@"
fi
if [ ! -s "$PGDATA/PG_VERSION" ]; then
	password=$(mktemp)
	printf '%s\n' "${POSTGRES_PASSWORD:?the password of the user postgres}" >"$password"
	# shellcheck disable=SC2086 # the arguments are several
	initdb --username=postgres --pwfile="$password" --auth=scram-sha-256 ${POSTGRES_INITDB_ARGS:-}
	rm "$password"
	echo 'host all all all scram-sha-256' >>"$PGDATA/pg_hba.conf"
	if [ "${POSTGRES_DB:-postgres}" != postgres ]; then
		echo "CREATE DATABASE \"$POSTGRES_DB\"" | postgres --single -D "$PGDATA" postgres
	fi
fi
shift $(($# > 0))
exec postgres -c listen_addresses='*' "$@"
