#!/usr/bin/env bash
# How long the work takes beside general-purpose peers, in one run, as a Markdown table of ratios: a bare quick-xml
# loop and gpxpy for GPX, a linear-program solver for the fuel plan, numpy for the samples, serde_json for trip files.
# Needs Python 3 with pip. Best run on a quiet machine; nothing here decides whether the checks pass.
set -euo pipefail
cd "$(dirname "$0")/.."

python3 -m venv target/peers
target/peers/bin/pip install --quiet 'gpxpy==1.6.2' 'numpy==2.3.5'
export PATH="$PWD/target/peers/bin:$PATH"

measured() { cargo test --quiet --release --features outside "$@" -- --include-ignored --nocapture --test-threads=1; }

echo '| work | drystage | peer | its time | times as quick |'
echo '|---|---|---|---|---|'
# What the harness prints before a row goes.
{ measured --test peers; measured --test outside doubt::; } | sed -n 's/^[^|]*| /| /p'
