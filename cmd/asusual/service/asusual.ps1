# A task of Windows that watches the lines of {{config}} from the start of the computer on, nobody logged in.
# Run this as administrator, in PowerShell:
#
#   [Console]::OutputEncoding = [Text.Encoding]::UTF8   # and in PowerShell 7 utf8BOM in place of utf8, for powershell reads it
#   asusual init {{shell folder}} --service windows | Out-File asusual.ps1 -Encoding utf8
#   powershell -ExecutionPolicy Bypass -File asusual.ps1
#
# It may be run again, after a new path or program: the watch that runs is ended and begun anew. LOCAL SERVICE, whose number is S-1-5-19 in
# every language of Windows, must be able to read the spectra and to write to the folder, which this gives it the right to:
#
#   icacls {{shell folder}} /grant '*S-1-5-19:(OI)(CI)M' /T
#
# It cannot reach a network share: for that give Register-ScheduledTask an account that can, by -User and -Password in place of -Principal.
# Letters of drives that somebody mapped, such as Z:, are there for who mapped them alone: in asusual.toml write \\server\share\folder.
# Stop-ScheduledTask ends the program at once. Nothing is lost by that, and nothing counts twice: the next start goes on
# where history ends, and where the one before still runs, it is refused.
# What the program says is added to asusual.log in the folder, some hundred bytes an event, and nobody shortens it; Get-Content -Encoding utf8
# shows it. To begin anew, or to put a new asusual.exe in the place of the old one, after asusual backup:
#
#   Disable-ScheduledTask -TaskName 'asusual'   # or it is started again within five minutes
#   Stop-ScheduledTask -TaskName 'asusual'
#   Move-Item -Force -LiteralPath {{shell log}} -Destination {{shell old log}}
#   Enable-ScheduledTask -TaskName 'asusual'
#   Start-ScheduledTask -TaskName 'asusual'
#
# What was tried: the program and the command line below were run under Wine, which stands in for Windows on Linux: the watch began,
# wrote its log and stopped in good order. The script itself was not run, nor anything on Windows: try it once by hand, restart the
# computer, and look into asusual.log.
$ErrorActionPreference = 'Stop'
$action = New-ScheduledTaskAction -Execute "$env:SystemRoot\System32\cmd.exe" -WorkingDirectory {{shell folder}} -Argument {{shell command}}
# At the start of the computer, and every five minutes for ever, for a share may come back after a weekend: where it runs, nothing is begun.
$start = New-ScheduledTaskTrigger -AtStartup
$again = New-ScheduledTaskTrigger -Once -At (Get-Date) -RepetitionInterval (New-TimeSpan -Minutes 5)
$settings = New-ScheduledTaskSettingsSet -ExecutionTimeLimit ([TimeSpan]::Zero) -RestartCount 999 -RestartInterval (New-TimeSpan -Minutes 1) `
    -MultipleInstances IgnoreNew -Priority 5 -AllowStartIfOnBatteries -DontStopIfGoingOnBatteries
$who = New-ScheduledTaskPrincipal -UserId ([Security.Principal.SecurityIdentifier]'S-1-5-19').Translate([Security.Principal.NTAccount]).Value -LogonType ServiceAccount
Stop-ScheduledTask -TaskName 'asusual' -ErrorAction SilentlyContinue
Register-ScheduledTask -Force -TaskName 'asusual' -Action $action -Trigger $start, $again -Settings $settings -Principal $who
Start-ScheduledTask -TaskName 'asusual'
