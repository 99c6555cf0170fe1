# A task of Windows that watches the lines of {{config}} from the start of the computer on, nobody logged in.
# Run this as administrator, in PowerShell:
#
#   [Console]::OutputEncoding = [Text.Encoding]::UTF8
#   asusual init {{shell folder}} --service windows | Out-File asusual.ps1 -Encoding utf8
#   powershell -ExecutionPolicy Bypass -File asusual.ps1
#
# LOCAL SERVICE must be able to read the spectra and to write to the folder. It cannot reach a network share: for that give
# Register-ScheduledTask an account that can, by -User and -Password in place of -Principal.
# Stop-ScheduledTask ends the program at once. Nothing is lost by that, and nothing counts twice: the next start goes on
# where history ends, and where the one before still runs, it is refused.
# What the program says is added to asusual.log in the folder, some hundred bytes an event, and nobody shortens it. To begin anew:
#
#   Stop-ScheduledTask -TaskName 'asusual'
#   Move-Item -Force -LiteralPath {{shell log}} -Destination {{shell old log}}
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
    -MultipleInstances IgnoreNew -AllowStartIfOnBatteries -DontStopIfGoingOnBatteries
$who = New-ScheduledTaskPrincipal -UserId 'NT AUTHORITY\LOCAL SERVICE' -LogonType ServiceAccount
Register-ScheduledTask -TaskName 'asusual' -Action $action -Trigger $start, $again -Settings $settings -Principal $who
Start-ScheduledTask -TaskName 'asusual'
