"""Enter formulas into a new spreadsheet of LibreOffice, and print what its cells then say.

``/usr/bin/python3 spreadsheet.py FOLDER`` reads an object of formulas or texts by cell from
standard input and writes an object of texts and numbers. It runs in the Python that LibreOffice's
own library ``uno`` is installed in, so that it imports nothing of the service.
"""

import json
import subprocess
import sys
import time

import uno
from com.sun.star.beans import PropertyValue
from com.sun.star.connection import NoConnectException

STARTING_SECONDS = 60


def connected(pipe):
    local = uno.getComponentContext()
    resolver = local.ServiceManager.createInstanceWithContext(
        "com.sun.star.bridge.UnoUrlResolver", local
    )
    until = time.monotonic() + STARTING_SECONDS
    while True:
        try:
            return resolver.resolve(f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext")
        except NoConnectException:
            if time.monotonic() > until:
                raise
            time.sleep(0.2)


def main(folder):
    pipe = f"evenbay{time.time_ns()}"
    office = subprocess.Popen(
        ["soffice", f"-env:UserInstallation=file://{folder}/profile", "--headless", "--norestore",
         f"--accept=pipe,name={pipe};urp;"],
        stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    context = connected(pipe)
    desktop = context.ServiceManager.createInstanceWithContext(
        "com.sun.star.frame.Desktop", context
    )
    hidden = (PropertyValue("Hidden", 0, True, 0),)
    book = desktop.loadComponentFromURL("private:factory/scalc", "_blank", 0, hidden)
    sheet = book.Sheets.getByIndex(0)
    told = {}
    for name, entered in json.load(sys.stdin).items():
        cell = sheet.getCellRangeByName(name)
        if entered.startswith("="):
            cell.Formula = entered
        else:
            cell.String = entered
        told[name] = {"text": cell.String, "number": cell.Value, "error": cell.getError()}
    book.close(True)
    desktop.terminate()
    office.wait(STARTING_SECONDS)
    json.dump(told, sys.stdout)


if __name__ == "__main__":
    main(sys.argv[1])
