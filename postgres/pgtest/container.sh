# Runs in the container as its first process, whose end is the container's.
trap exit INT TERM
docker-entrypoint.sh postgres "$@" &
server=$!

# The connections that are open to the port 5432, which is 1538 in the kernel's notation; 01 means established.
connected() {
	cat /proc/net/tcp /proc/net/tcp6 2>/dev/null | awk '$2 ~ /:1538$/ && $4 == "01" { found = 1 } END { exit !found }'
}

left=45 # seconds, as long as a start is waited for
while [ "$left" -gt 0 ] && kill -0 "$server" 2>/dev/null; do
	sleep 1
	left=$((left - 1))
	connected && left=20
done
