# Sourced by tests/*/run. Checks that do not depend on each other run side by side, one a core; what
# they print comes in the order in which they were started.
#   start CMD…   runs a check as soon as a core is free
#   finish       waits for all; 1 where one of them failed
said=$(mktemp -d)
started=0
printed=0

start() {
	while [ "$(jobs -rp | wc -l)" -ge "$(nproc)" ]; do wait_for_one; done
	local log=$said/$((started += 1))
	{
		"$@" >"$log" 2>&1 || touch "$log.failed"
		touch "$log.ended"
	} &
}

finish() {
	while [ "$printed" -lt "$started" ]; do wait_for_one; done
	local failed=0
	! compgen -G "$said/*.failed" >/dev/null || failed=1
	rm -rf "$said"
	return "$failed"
}

# Waits until one more has ended, and prints those whose turn it is.
wait_for_one() {
	wait -n || true
	while [ -e "$said/$((printed + 1)).ended" ]; do cat "$said/$((printed += 1))"; done
}
