# Sourced by the scripts: makes .venv beside this folder on first use and keeps it in step with pyproject.toml.
# ensure_venv STAMP EXTRAS   e.g.  ensure_venv test '[models,test]'

root=$(cd -- "$(dirname -- "${BASH_SOURCE[0]}")/.." && pwd)
venv="$root/.venv"

stop() {
  printf 'drillkb: %s\n' "$1" >&2
  exit 3
}

find_python() {
  local name
  for name in "${DRILLKB_PYTHON:-}" python3 python3.14 python3.13 python3.12 python3.11 python; do
    [ -n "$name" ] || continue
    if "$name" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
      printf '%s' "$name"
      return
    fi
  done
}

install() {
  local log="$venv/install.log" pid ticks=0
  "$venv/bin/python" -m pip install --disable-pip-version-check --quiet -e "$root$1" >"$log" 2>&1 &
  pid=$!
  while kill -0 "$pid" 2>/dev/null; do
    [ -t 2 ] && [ "$ticks" -gt 0 ] && printf '\rdrillkb: installing, %d s' "$ticks" >&2
    sleep 1
    ticks=$((ticks + 1))
  done
  [ -t 2 ] && printf '\n' >&2
  wait "$pid" && return
  if grep -qiE 'connection|name resolution|network|timed out|proxy|No matching distribution|retries' "$log"; then
    stop "the Python packages could not be fetched; connect to the internet once and run this again (details: .venv/install.log)."
  fi
  stop "the Python packages could not be installed: $(grep -iE 'error' "$log" | tail -n 1 | cut -c1-200) (details: .venv/install.log)."
}

ensure_venv() {
  local stamp="$venv/.drillkb-$1" python
  if [ -f "$stamp" ] && [ ! "$root/pyproject.toml" -nt "$stamp" ]; then
    return
  fi
  if [ ! -x "$venv/bin/python" ] || ! "$venv/bin/python" -m pip --version >/dev/null 2>&1; then
    python=$(find_python)
    [ -n "$python" ] || stop "Python 3.11 or newer is needed and was not found; install it and run this again."
    printf 'drillkb: first use, making .venv (one to three minutes) ...\n' >&2
    "$python" -m venv "$venv" >/dev/null 2>&1 ||
      stop "Python has no venv module that works; on Debian and Ubuntu 'apt install python3-venv' brings it."
  else
    printf 'drillkb: bringing .venv up to date ...\n' >&2
  fi
  install "$2"
  touch "$stamp"
}
