"""Starts a service with the demo book and a plan given out, and says how the owner asks: address, cookie, key, process."""

import http.client
import json
import re
import subprocess
import sys
import time
import urllib.parse

program, folder = sys.argv[1:]
service = subprocess.Popen(
    [program, "serve", "--bind", "127.0.0.1:0", "--now", "2026-12-07 am"],
    cwd=folder,
    stderr=open(f"{folder}/log", "w"),
)
for _ in range(200):
    log = open(f"{folder}/log").read()
    at, link = re.search(r"serves at http://(\S+?)/ ", log), re.search(r"/link/([0-9a-f]{64})", log)
    if at and link:
        break
    time.sleep(0.05)
else:
    sys.exit("the service does not start")
at = at[1]


def send(method, path, fields=None, heads=None):
    connection = http.client.HTTPConnection(at, timeout=30)
    body = urllib.parse.urlencode(fields) if fields else None
    heads = {"Content-Type": "application/x-www-form-urlencoded", **(heads or {})}
    connection.request(method, path, body, heads)
    came = connection.getresponse()
    return came.status, came.getheader("Set-Cookie") or "", came.read().decode()


password = "a long password"
status, cookie, text = send("POST", f"/link/{link[1]}", {"name": "Rae Owner", "password": password, "again": password})
assert status == 303, text
cookie = {"Cookie": cookie.split(";")[0]}
key = json.loads(send("GET", "/api/me", heads=cookie)[2])["key"]
for path, fields in [("/start", {"with": "demo"}), ("/plan/start", {"seconds": 1})]:
    status, _, text = send("POST", path, {"key": key, **fields}, cookie)
    assert status == 303, text
while (seen := json.loads(send("GET", "/api/planning", heads=cookie)[2]))["state"] == "running":
    time.sleep(0.1)
status, _, text = send("POST", "/plan/give-out", {"key": key, "number": seen["number"]}, cookie)
assert status == 303, text
print(f"http://{at}", cookie["Cookie"], key, service.pid)
